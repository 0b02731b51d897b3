package server

import (
	"fmt"
	"strings"

	"rsc.io/qr"
)

// svgQR draws the text as a QR code (ISO/IEC 18004): dark on light whatever the
// screen's colours are, with the quiet zone of four modules that the standard
// asks for. "" if the text is too long for one.
func svgQR(text string) string {
	code, err := qr.Encode(text, qr.M)
	if err != nil {
		return ""
	}
	const quiet = 4
	var b strings.Builder
	n := code.Size + 2*quiet
	fmt.Fprintf(&b, `<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 %d %d" shape-rendering="crispEdges"><path fill="#fff" d="M0 0h%dv%dH0z"/><path d="`, n, n, n, n)
	for y := range code.Size {
		for x := range code.Size {
			if code.Black(x, y) {
				fmt.Fprintf(&b, "M%d %dh1v1h-1z", x+quiet, y+quiet)
			}
		}
	}
	b.WriteString(`"/></svg>`)
	return b.String()
}
