package tag

import "testing"

// Rows are replaced by rows with a greater version: the same knowledge has to have
// the same number in every program.
func TestVersionsStayAsTheyAre(t *testing.T) {
	for _, c := range []struct {
		events, mates, region int
		want                  uint64
	}{
		{0, 0, 0, 0},
		{0, 0, 1, 1},
		{0, 1, 0, 16777216},
		{1, 0, 0, 68719476736},
		{3, 2, 5, 206191984645},
		{-1, -1, -1, 0},
		{1, 1 << 20, 1 << 40, 68719476736 + 4095<<24 + 16777215},
	} {
		if got := Version(c.events, c.mates, c.region); got != c.want {
			t.Errorf("%d events, %d entries of the shot, %d of the region: version %d, was %d", c.events, c.mates, c.region, got, c.want)
		}
	}
}
