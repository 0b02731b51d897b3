package pwa_test

import (
	"fmt"
	"math"
	"testing"

	"github.com/chromedp/chromedp"
)

// A clock that somebody waits for is read from 2 m, hands on the film. Legible is a
// character of 16 minutes of arc, preferred are 20 to 22 (ISO 9241-303, character
// height; from memory): at 2 m 9.3 mm and 11.6 mm. How wide a CSS pixel is comes from
// phones with such a screen: 6.1 inch at 19.5 to 9 on 390 pixels, and 4 inch at 16
// to 9, the smallest there is, on 320. There 16 have to do: the screen ends.
const legible, preferred, away = 16.0, 20.0, 2000.0 // minutes, minutes, mm

// across is how wide a screen is in mm, by its diagonal in inches.
func across(inches, long, short float64) float64 {
	return inches * 25.4 * short / math.Hypot(long, short)
}

// minutes is the angle under which a height is seen.
func minutes(mm float64) float64 { return math.Atan(mm/away) * 180 / math.Pi * 60 }

func TestBrowserReadFromTwoMetres(t *testing.T) {
	t.Parallel()
	if got := 2000 * math.Tan(20.0/60*math.Pi/180); math.Abs(minutes(got)-20) > 1e-9 || math.Abs(got-11.64) > 0.005 {
		t.Fatalf("20 minutes at 2 m are %.3f mm", got)
	}
	ctx, base := browser(t), serve(t)
	for _, phone := range []struct {
		w, h  int64
		wide  float64 // mm
		least float64
	}{{390, 844, across(6.1, 19.5, 9), preferred}, {320, 568, across(4, 16, 9), legible}} {
		if err := chromedp.Do(ctx, chromedp.EmulateViewport(phone.w, phone.h)); err != nil {
			t.Fatal(err)
		}
		for _, c := range []struct {
			screen
			has string // what is large on it
		}{
			{screen{"waits until a time", "", "#/job/job-V3", nil, "gate-now"}, "time.digits"},
			{screen{"waits some minutes", "", "#/job/job-soon", nil, "gate-now"}, ".digits"},
			{screen{"waits until a day", "", "#/job/job-callback", nil, "gate-now"}, "time.digits"},
			{screen{"hold all", "", "#/job/job-V1", []string{"hold"}, "hold-back"}, "#sheet .digits"},
		} {
			if err := open(ctx, base, c.screen, "day"); err != nil {
				t.Fatal(err)
			}
			// What the ink of the digits measures, and whether it is on the screen.
			got := eval[struct {
				Text             string
				Ink, Left, Right float64
			}](t, ctx, fmt.Sprintf(`(() => {
				const el = document.querySelector(%q), text = el.textContent, range = document.createRange();
				range.selectNodeContents(el);
				const box = range.getBoundingClientRect(), pen = document.createElement('canvas').getContext('2d');
				const style = getComputedStyle(el);
				pen.font = style.fontWeight + ' ' + style.fontSize + ' ' + style.fontFamily;
				const ink = pen.measureText('0');
				return { Text: text, Ink: ink.actualBoundingBoxAscent + ink.actualBoundingBoxDescent, Left: box.left, Right: box.right };
			})()`, c.has))
			mm := got.Ink * phone.wide / float64(phone.w)
			t.Logf("%s on %d: %q is %.1f px, %.1f mm, %.1f minutes at 2 m", c.name, phone.w, got.Text, got.Ink, mm, minutes(mm))
			if minutes(mm) < phone.least || got.Left < 0 || got.Right > float64(phone.w) {
				t.Errorf("%s on %d: %q is %.1f mm high, %.1f minutes at 2 m, under %.0f; from %.0f to %.0f", c.name, phone.w, got.Text, mm, minutes(mm), phone.least, got.Left, got.Right)
			}
		}
	}
}
