package paper

import (
	"bytes"
	"encoding/json"
	"math"
	"os"
	"os/exec"
	"path/filepath"
	"strconv"
	"strings"
	"testing"

	"bayhold/checklist"
	"bayhold/checklist/record"
	"bayhold/server/browsertest"
	"bayhold/testdata/jobs/story"
)

const opens = "https://bay.local:8443/#/job/01890a5d-ac96-774b-bcce-b302099a8057"

// cardOf is the card of one of the four whole jobs as it stood after that part
// of its lines.
func cardOf(t testing.TB, name, language string, part float64, fahrenheit bool) *record.Record {
	t.Helper()
	s := checklist.NewShop()
	now := int64(0)
	all := story.Jobs[name]()
	for i, e := range all {
		l := e.Line()
		l.Order = uint64(i + 1)
		if float64(i) > part*float64(len(all)) {
			break
		}
		if set, ok := l.Body.(checklist.ShopSet); ok && fahrenheit {
			set.Units = "F"
			l.Body = set
		}
		s.Add(l)
		now = max(now, l.Span.Latest)
	}
	r, ok := record.CardOf(s, record.Asked{Job: s.Jobs()[0], Now: checklist.Span{Earliest: now, Latest: now}, Language: language}, opens)
	if !ok {
		t.Fatalf("%s has no job", name)
	}
	return r
}

// TestCards: the cards of the four jobs, early and late, in each language and on
// each paper: what the tags hold, in their order, is what the card says.
func TestCards(t *testing.T) {
	var all []*record.Record
	for name := range story.Jobs {
		for i, language := range checklist.Languages {
			for k, far := range []float64{0.12, 0.6} {
				// The van early in one language and late in the other, the others
				// late; all four ways where somebody asks for it.
				if (k != i || k == 0 && name != "van") && os.Getenv("BAYHOLD_LONG") != "1" && os.Getenv("BAYHOLD_PAPER") == "" {
					continue
				}
				r := cardOf(t, name, language, far, i == 1)
				pdf := write(t, r, Options{Size: Size(i)})
				kept(t, "card."+name+"."+language+"."+strconv.Itoa(int(far*100)), pdf)
				got, want := said(t, pdf), squeezed(expected(r))
				if got != want {
					at := 0
					for at < len(got) && at < len(want) && got[at] == want[at] {
						at++
					}
					t.Errorf("%s %s: the tags hold\n...%s\nwhere the card says\n...%s", name, language, part(got, at), part(want, at))
				}
				all = append(all, r)
			}
		}
	}
	var out bytes.Buffer
	if err := WriteCards(&out, nil, Options{}); err == nil {
		t.Error("no card is printed without a word")
	}
	if err := WriteCards(&out, all[:2], Options{}); err != nil {
		t.Fatal(err)
	}
	browsertest.Tools(t, "qpdf")
	file := filepath.Join(t.TempDir(), "cards.pdf")
	if err := os.WriteFile(file, out.Bytes(), 0o644); err != nil {
		t.Fatal(err)
	}
	if out, err := exec.Command("qpdf", "--check", file).CombinedOutput(); err != nil || !strings.Contains(string(out), "No syntax or stream encoding errors") {
		t.Errorf("qpdf: %v\n%s", err, out)
	}
}

// TestDewTable: the printed dew points are those of PsychroLib's table
// (testdata/reference/ORIGIN-air.md), liquid water by Hyland and Wexler, as the
// table prints them, to a tenth; the Magnus formula that the gates use lies
// within 0.041 K of it (the same file, "stats": AE96 minus HWliquid).
func TestDewTable(t *testing.T) {
	raw, err := os.ReadFile("../../testdata/reference/ref_psychro_grid.json")
	if err != nil {
		t.Fatal(err)
	}
	var grid struct {
		Rows []struct {
			T   float64 `json:"t_c"`
			RH  float64 `json:"rh_pct"`
			Dew float64 `json:"tdew_hw_liquid_c"`
		}
	}
	if err := json.Unmarshal(raw, &grid); err != nil {
		t.Fatal(err)
	}
	known := map[[2]float64]float64{}
	for _, r := range grid.Rows {
		known[[2]float64{r.T, r.RH}] = r.Dew
	}
	for _, fahrenheit := range []bool{false, true} {
		compared := 0
		for _, p := range cardOf(t, "van", "en", 0.3, fahrenheit).Sections {
			for _, b := range p.Blocks {
				f, ok := b.(record.Form)
				if !ok || !f.Numbers {
					continue
				}
				for _, row := range f.Rows {
					for i, cell := range row.Cells[1:] {
						air, _ := strconv.ParseFloat(row.Cells[0], 64)
						rh, err := strconv.ParseFloat(strings.TrimSuffix(f.Head[i+1], " %"), 64)
						got, err2 := strconv.ParseFloat(cell, 64)
						if err != nil || err2 != nil {
							t.Fatalf("%q at %q", cell, f.Head[i+1])
						}
						scale := 1.0
						if fahrenheit {
							air, got, scale = (air-32)/1.8, (got-32)/1.8, 1/1.8
						}
						want, ok := known[[2]float64{math.Round(air*1e6) / 1e6, rh}]
						if !ok {
							continue
						}
						compared++
						if math.Abs(got-want) > 0.041+0.05*scale+1e-9 {
							t.Errorf("at %.1f C and %.0f %% the card says %.2f C, PsychroLib %.2f C", air, rh, got, want)
						}
					}
				}
			}
		}
		// 14 rows by 14 columns in Celsius; of 45, 50, ... 95 F only 50 and 95
		// are whole degrees Celsius.
		if want := map[bool]int{false: 14 * 14, true: 2 * 14}[fahrenheit]; compared != want {
			t.Errorf("compared %d dew points, want %d", compared, want)
		}
	}
}

// TestCardCode: a camera reads the job's address off the card.
func TestCardCode(t *testing.T) {
	browsertest.Tools(t, "pdftoppm")
	file := filepath.Join(t.TempDir(), "card")
	if err := os.WriteFile(file+".pdf", write(t, cardOf(t, "van", "en", 0.12, false), Options{}), 0o644); err != nil {
		t.Fatal(err)
	}
	if out, err := exec.Command("pdftoppm", "-png", "-gray", "-singlefile", "-r", "200", "-x", "1200", "-y", "200", "-W", "450", "-H", "500", file+".pdf", file).CombinedOutput(); err != nil {
		t.Fatal(err, string(out))
	}
	if got := camera(t, file+".png"); got != opens {
		t.Errorf("a camera reads %q, want %q", got, opens)
	}
}
