package line

import (
	"strconv"

	"bayhold/checklist"
)

// Limit is what a number can be at all. Outside it nobody measured it: it was
// mistyped.
type Limit struct {
	What        string // as the refusing sentence begins
	Least, Most int64
	Unit        string // "mC", "m%", "n", "um" (shown in mm), "hot" ("mC" by a gun or a lamp: no mistaken unit)
}

// The limits. A relative humidity is a percentage by definition; the
// temperatures are what shop instruments and vehicles reach, with room (common
// practice, no source).
var (
	limitAir     = &Limit{"Air", -40_000, 60_000, "mC"}
	limitRH      = &Limit{"Humidity", 1_000, 100_000, "m%"}
	limitSurface = &Limit{"Surface", -40_000, 120_000, "mC"}
	limitStrips  = &Limit{"Card strips", 0, 100, "n"}
	limitHeated  = &Limit{"Surface", -40_000, 120_000, "hot"}
	limitAngle   = &Limit{"An angle", 0, 180, "n"}
	limitResidue = &Limit{"Adhesive left", 0, 100_000, "m%"}
	limitSpeed   = &Limit{"Speed in mm a minute", 0, 20_000, "n"}
	limitTook    = &Limit{"Time for a strip in ms", 0, 8 * 3_600_000, "n"}
	limitArea    = &Limit{"Area of a strip in square mm", 0, 4_000_000, "n"}
	limitPaint   = &Limit{"Paint", 0, 5_000, "micrometres"}
	limitPlaces  = &Limit{"Places of a patch", 0, 20, "n"}
	limitCount   = &Limit{"The count", 0, 20_000, "n"}
	limitFilm    = &Limit{"Film", -40_000, 400_000, "hot"}
	limitEmits   = &Limit{"Emissivity", 0, 100_000, "m%"}
	limitGuns    = &Limit{"Guns", 0, 8, "n"}
	limitMetres  = &Limit{"Metres", 0, 2_000, "n"}
	limitOff     = &Limit{"An error in thousandths", 1, 20_000, "n"}
	limitMinutes = &Limit{"Minutes", 0, 6_000, "n"}
)

// What a rule, a rod and a tape measure on a vehicle, and what film there is.
// Lengths, widths and depths are those of package stretch; a bus is under 30 m
// long (common practice, no source).
var (
	limitWidth     = &Limit{"Width", 1_000, 2_000_000, "um"}
	limitDepth     = &Limit{"Depth", 0, 500_000, "um"}
	limitFloor     = &Limit{"Floor", 0, 2_000_000, "um"}
	limitPath      = &Limit{"Tape path", 1_000, 4_000_000, "um"}
	limitHalfWidth = &Limit{"Half-width", 1_000, 1_000_000, "um"}
	limitHeight    = &Limit{"Height", 0, 1_000_000, "um"}
	limitLength    = &Limit{"Length", 0, 100_000_000, "um"}
	limitRivets    = &Limit{"Rivets", 0, 5_000, "n"}
	limitThick     = &Limit{"Thickness", 10, 500, "micrometres"}
	limitMonths    = &Limit{"Stay", 0, 180, "months"}
)

// A temperature above warm in a Celsius shop, or below cool in a bay of a
// Fahrenheit shop, is asked about if it makes sense in the other unit.
const (
	warm     = 45_000
	cool     = 2_000
	bayLeast = 0      // what a bay or a vehicle in it usually has
	bayMost  = 40_000 // (common practice, no source)
)

// numbersOf lists the numbers of a body with the limits that they must keep.
func numbersOf(b checklist.Body) []measured {
	switch b := b.(type) {
	case checklist.ClimateReading:
		return []measured{{limitAir, b.Air}, {limitRH, b.RH}}
	case checklist.ClimateSpan:
		return []measured{{limitAir, b.AirLeast}, {limitAir, b.AirMost}, {limitRH, b.RHLeast}, {limitRH, b.RHMost}}
	case checklist.PlaceAdd:
		return []measured{{limitLength, milli(b.Length)}, {limitLength, milli(b.Height)}, {limitLength, milli(b.Door)}}
	case checklist.Instrument:
		return []measured{{limitOff, milli(b.Error)}, {limitOff, milli(max(1, b.RHError))}}
	case checklist.Reading:
		if b.Answer == "not-measured" {
			return nil
		}
		var all []measured
		for _, v := range b.Values {
			all = append(all, measured{limitSurface, v.Surface})
		}
		return all
	case checklist.Feature:
		var all []measured
		for _, m := range [...]measured{
			{limitWidth, milli(b.Width)}, {limitDepth, milli(b.Depth)}, {limitFloor, milli(b.Floor)}, {limitPath, milli(b.Path)},
			{limitHalfWidth, milli(b.HalfWidth)}, {limitHeight, milli(b.Height)}, {limitLength, milli(b.Length)}, {limitRivets, milli(b.Count)},
		} {
			if m.value != 0 { // 0 is not given
				all = append(all, m)
			}
		}
		return all
	case checklist.FilmRoll:
		all := []measured{{limitMonths, milli(b.Months)}}
		if b.Thickness != 0 {
			all = append(all, measured{limitThick, milli(b.Thickness)})
		}
		return all
	case checklist.Trial:
		return []measured{{limitHeated, b.Surface}, {limitAngle, milli(b.Angle)}, {limitResidue, milli(b.Residue)},
			{limitSpeed, milli(b.Speed)}, {limitTook, milli(b.Took)}, {limitArea, milli(b.Area)}}
	case checklist.Paint:
		var all []measured
		for _, n := range b.Thickness {
			all = append(all, measured{limitPaint, milli(n)})
		}
		return all
	case checklist.Patch:
		return []measured{{limitSurface, b.Coldest}, {limitHeated, b.Warm}, {limitPlaces, milli(b.Places)}}
	case checklist.Evidence:
		if b.What == "card-strips" {
			return []measured{{limitStrips, milli(b.Count)}}
		}
		return []measured{{limitCount, milli(b.Count)}, {limitCount, milli(b.Of)}}
	case checklist.Heat:
		all := []measured{{limitMetres, up(b.Length, 1_000_000)}, {limitMinutes, up(b.Took, 60_000)},
			{limitCount, milli(b.Rivets)}, {limitGuns, milli(b.Guns)}, {limitEmits, milli(b.Emissivity)}}
		for _, f := range b.Films {
			all = append(all, measured{limitFilm, milli(f)})
		}
		return all
	}
	return nil
}

// up is a number in larger units, rounded away from zero.
func up(n, unit int64) int32 {
	if n < 0 {
		return milli(n/unit - 1)
	}
	return milli(n/unit + (n%unit+unit-1)/unit)
}

// Impossible is the sentence that refuses a number that nobody can have
// measured, such as a humidity of 130 %, or "". It needs no shop: a log from a
// file and a line from a phone that did not ask are held to it alike.
func Impossible(b checklist.Body) string {
	for _, m := range numbersOf(b) {
		if text := m.refuse(); text != "" {
			return text
		}
	}
	return ""
}

// milli brings a number into the range that is compared; what is outside of it
// is outside of every limit too.
func milli(v int64) int32 { return int32(max(-1_000_000_000, min(v, 1_000_000_000))) }

type measured struct {
	*Limit
	value int32
}

// refuse is the sentence for a value outside its limit, or "".
func (m measured) refuse() string {
	v := int64(m.value)
	if v >= m.Least && v <= m.Most {
		return ""
	}
	return m.What + " " + show(v, m.Unit) + " cannot be. It goes from " + show(m.Least, m.Unit) + " to " + show(m.Most, m.Unit) + "."
}

// show writes a number with the marks of package checklist where the reader's
// unit matters.
func show(v int64, unit string) string {
	switch unit {
	case "mC", "hot":
		return "⟨c:" + strconv.FormatInt(v, 10) + "⟩"
	case "m%":
		return decimal(v) + " %"
	case "um":
		return decimal(v) + " mm"
	case "micrometres", "months":
		return strconv.FormatInt(v, 10) + " " + unit
	}
	return strconv.FormatInt(v, 10)
}

// decimal writes thousandths with at most one decimal: 68000 is "68".
func decimal(milli int64) string {
	sign := ""
	if milli < 0 {
		sign, milli = "-", -milli
	}
	tenths := (milli + 50) / 100
	s := sign + strconv.FormatInt(tenths/10, 10)
	if tenths%10 != 0 {
		s += "." + strconv.FormatInt(tenths%10, 10)
	}
	return s
}

// mixedUp asks whether a temperature was read in the other unit, or is "".
func (m measured) mixedUp(units string, bay bool) string {
	if m.Unit != "mC" {
		return ""
	}
	v := int64(m.value)
	if units != "F" {
		if other := (v - 32_000) * 5 / 9; v > warm && other >= bayLeast && other <= bayMost {
			return decimal(v) + " °C? " + decimal(v) + " °F would be " + decimal(other) + " °C. Check the unit."
		}
		return ""
	}
	typed := v*9/5 + 32_000
	if bay && v < cool && typed >= bayLeast && typed <= bayMost {
		return decimal(typed) + " °F? " + decimal(typed) + " °C would be " + decimal(typed*9/5+32_000) + " °F. Check the unit."
	}
	return ""
}
