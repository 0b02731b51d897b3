package paper

import (
	"math"
	"regexp"
	"strconv"
)

var pathToken = regexp.MustCompile(`[A-Za-z]|-?[0-9]*\.?[0-9]+`)

// trace puts an SVG path (SVG 1.1 section 8.3) on a page: its lines, quadratic
// curves and arcs, which is all that the drawings use.
func trace(p *page, path string) {
	tokens := pathToken.FindAllString(path, -1)
	var x, y, startX, startY, turnX, turnY float64
	command, before := byte(0), byte(0)
	i := 0
	next := func() float64 {
		if i >= len(tokens) {
			return 0
		}
		v, _ := strconv.ParseFloat(tokens[i], 64) // a number, by pathToken
		i++
		return v
	}
	quad := func(cx, cy, ex, ey float64) {
		p.CurveTo(x+(cx-x)*2/3, y+(cy-y)*2/3, ex+(cx-ex)*2/3, ey+(cy-ey)*2/3, ex, ey)
		x, y, turnX, turnY = ex, ey, cx, cy
	}
	for i < len(tokens) {
		if c := tokens[i][0]; c >= 'A' && c <= 'Z' || c >= 'a' && c <= 'z' {
			command = c
			i++
		} else if command == 'M' {
			command = 'L' // more pairs after a move are lines
		}
		ox, oy := 0.0, 0.0
		if command >= 'a' {
			ox, oy = x, y
		}
		upper := command &^ 0x20
		switch upper {
		case 'M':
			x, y = ox+next(), oy+next()
			startX, startY = x, y
			p.MoveTo(x, y)
		case 'L':
			x, y = ox+next(), oy+next()
			p.LineTo(x, y)
		case 'H':
			x = ox + next()
			p.LineTo(x, y)
		case 'V':
			y = oy + next()
			p.LineTo(x, y)
		case 'Q':
			quad(ox+next(), oy+next(), ox+next(), oy+next())
		case 'T':
			cx, cy := x, y
			if before == 'Q' || before == 'T' {
				cx, cy = 2*x-turnX, 2*y-turnY
			}
			quad(cx, cy, ox+next(), oy+next())
		case 'A':
			r, _, _, large, sweep := next(), next(), next(), next(), next()
			ex, ey := ox+next(), oy+next()
			arc(p, x, y, ex, ey, r, large != 0, sweep != 0)
			x, y = ex, ey
		case 'Z':
			p.ClosePath()
			x, y = startX, startY
		default:
			return
		}
		before = upper
	}
}

// arc draws a part of a circle from one point to another (SVG 1.1 appendix F.6),
// in pieces of at most a quarter.
func arc(p *page, x, y, ex, ey, r float64, large, sweep bool) {
	dx, dy := (x-ex)/2, (y-ey)/2
	half := math.Hypot(dx, dy)
	if half == 0 {
		return
	}
	r = max(r, half)
	k := math.Sqrt(max(0, r*r-half*half)) / half
	if large == sweep {
		k = -k
	}
	cx, cy := (x+ex)/2+k*dy, (y+ey)/2-k*dx
	from, to := math.Atan2(y-cy, x-cx), math.Atan2(ey-cy, ex-cx)
	turn := to - from
	if sweep && turn < 0 {
		turn += 2 * math.Pi
	}
	if !sweep && turn > 0 {
		turn -= 2 * math.Pi
	}
	n := int(math.Ceil(math.Abs(turn) / (math.Pi / 2)))
	step := turn / float64(n)
	t := 4.0 / 3 * math.Tan(step/4)
	for range n {
		a, b := from, from+step
		p.CurveTo(cx+r*(math.Cos(a)-t*math.Sin(a)), cy+r*(math.Sin(a)+t*math.Cos(a)),
			cx+r*(math.Cos(b)+t*math.Sin(b)), cy+r*(math.Sin(b)-t*math.Cos(b)), cx+r*math.Cos(b), cy+r*math.Sin(b))
		from = b
	}
}
