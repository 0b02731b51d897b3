package limit

import (
	"math"
	"strings"
	"testing"
)

func TestCheck(t *testing.T) {
	rh := Input{Key: "rh", Name: "relative humidity", Low: 0.001, High: 100, Unit: "%"}
	for _, c := range []struct {
		v    float64
		want string
	}{
		{0.001, ""}, {55, ""}, {100, ""},
		{130, "relative humidity 130 % is out of range; valid is 0.001 to 100 %"},
		{0, "relative humidity 0 % is out of range; valid is 0.001 to 100 %"},
		{math.NaN(), "relative humidity is not a number; valid is 0.001 to 100 %"},
		{math.Inf(1), "relative humidity +Inf % is out of range; valid is 0.001 to 100 %"},
		{1e300, "relative humidity 1e+300 % is out of range; valid is 0.001 to 100 %"},
	} {
		got := ""
		if err := rh.Check(c.v); err != nil {
			got = err.Error()
		}
		if got != c.want {
			t.Errorf("Check(%v) = %q, want %q", c.v, got, c.want)
		}
	}
	bare := Input{Name: "emissivity", Low: 0.6, High: 1}
	if err := bare.Check(0.1); err == nil || err.Error() != "emissivity 0.1 is out of range; valid is 0.6 to 1" {
		t.Errorf("without a unit: %v", err)
	}
}

func TestCheckTable(t *testing.T) {
	table := []Input{{Name: "width", Low: 0, High: 10}, {Name: "depth", Low: 0, High: 5}}
	if err := Check(table, 10, 5); err != nil {
		t.Errorf("the ends are valid: %v", err)
	}
	if err := Check(table, -1, 9); err == nil || !strings.HasPrefix(err.Error(), "width -1 ") {
		t.Errorf("the first refusal is told first, got %v", err)
	}
	if err := Check(table, 1); err == nil {
		t.Error("a missing number passed")
	}
}
