package detect

// shown is the share of a wave's true peak-to-peak that the k-th swing shows, by readings
// in the window (computed by simulation of sines of 1–6 Hz sampled unevenly, in this
// project's bench; the last row holds for more).
var shown = []struct {
	n int
	g float64
}{{8, .36}, {9, .49}, {10, .55}, {12, .59}, {15, .75}, {20, .86}, {30, .93}, {45, .97}, {60, .98}}

// shownShare interpolates shown; it is 0 below the first row.
func shownShare(n int) float64 {
	if n < shown[0].n {
		return 0
	}
	for i := 1; i < len(shown); i++ {
		a, b := shown[i-1], shown[i]
		if n < b.n {
			return a.g + (b.g-a.g)*float64(n-a.n)/float64(b.n-a.n)
		}
	}
	return shown[len(shown)-1].g
}
