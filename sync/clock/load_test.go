package clock

import "testing"

// A clock's kept state may be any bytes: an old version's, half of one,
// another's. What is taken for good can be kept again and read back.
func FuzzLoad(f *testing.F) {
	p := NewPhone(7, 1_800_000_000_000, 1000)
	f.Add(p.Append(nil, 1_800_000_000_000, 1000), int64(1_800_000_060_000), int64(5))
	p.Contact(1_800_000_000_000, 1000, 1_800_000_000_500, 1_800_000_000_500, 1_800_000_000_040, 1040)
	f.Add(p.Append(nil, 1_800_000_001_000, 2000), int64(1_800_000_000_000), int64(5))
	f.Add([]byte{}, int64(0), int64(0))
	f.Fuzz(func(t *testing.T, b []byte, wall, mono int64) {
		if wall < 0 || wall > 1<<42 || mono < 0 || mono > 1<<42 { // what a browser's clocks can say
			return
		}
		p, err := Load(b, 7, wall, mono)
		if err != nil {
			return
		}
		again := p.Append(nil, wall, mono)
		if _, err := Load(again, 8, wall, mono); err != nil {
			t.Errorf("%x was read and is kept as %x: %v", b, again, err)
		}
	})
}
