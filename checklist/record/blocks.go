package record

// A Block is one piece of a section: a Sub, Say, Points, Facts, Table, Plan,
// Plot, Pictures, Ink or Code.
type Block interface{ block() }

// Sub is a heading inside a section.
type Sub string

// Say is a paragraph.
type Say string

// Points are sentences, one below the other.
type Points []string

// Facts are names with their values.
type Facts []Fact

// Fact is one of them.
type Fact struct{ Name, Value string }

// Table is rows under headings; the first column names its row.
type Table struct {
	Title   string
	Head    []string
	Rows    [][]string
	Numbers []int // columns that hold numbers
}

// Plan is the vehicle unrolled, with its panels in hang order and the pins of
// what was found. Alt says the same in words.
type Plan struct {
	Vehicle string
	Panels  []PlanPanel
	Alt     string
}

// PlanPanel is a panel on the plan; Pins are the numbers of findings on it.
type PlanPanel struct {
	ID, Name, Zone string
	Order          int
	Bare           bool
	Pins           []int
}

// Plot is curves over time with their window. Values are thousandths of Unit.
type Plot struct {
	Title, Alt string
	Unit       string
	From, To   int64
	Days       []Mark // where a day begins
	Curves     []Curve
	Limits     []Limit
	Counted    [][2]int64 // times that count, under CountedName
	Marks      []Mark     // what happened, by number

	CountedName string
}

// Curve is one line of a plot; a curve of dots is not joined.
type Curve struct {
	Name  string
	Dots  bool
	Spots []Spot
}

// Spot is a value at a moment.
type Spot struct{ At, Value int64 }

// Limit is a value that holds all the time.
type Limit struct {
	Name  string
	Value int64
}

// Mark is a moment with its words.
type Mark struct {
	At   int64
	Text string
}

// Pictures are photos with what they show.
type Pictures []Picture

// Picture is a photo of the shop's by its hash.
type Picture struct{ SHA, Caption, Missing string }

// Ink is signatures as they were drawn, in the strokes of a checklist.Sign.
type Ink []Signature

// Signature is one of them.
type Signature struct {
	Name, Caption string
	Strokes       []byte
}

// Code is a text that a camera can read, and what it is.
type Code struct{ Text, Caption string }

func (Sub) block()      {}
func (Say) block()      {}
func (Points) block()   {}
func (Facts) block()    {}
func (Table) block()    {}
func (Plan) block()     {}
func (Plot) block()     {}
func (Pictures) block() {}
func (Ink) block()      {}
func (Code) block()     {}
