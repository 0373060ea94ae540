package chance

// Interval is the exact 95 % interval of a share that gave hits in trials (Clopper and Pearson,
// Biometrika 26, 1934): shares below low would give so many hits or more, and shares above high so
// many or fewer, in less than one of forty trials each. Without trials it is 0 to 1.
func Interval(hits, trials int) (low, high float64) {
	const tail = 0.025
	if trials <= 0 {
		return 0, 1
	}
	if hits > 0 {
		low = solve(func(p float64) bool { return AtLeast(hits, trials, p) < tail })
	}
	high = 1
	if hits < trials {
		high = solve(func(p float64) bool { return 1-AtLeast(hits+1, trials, p) >= tail })
	}
	return low, high
}

// solve is where a condition that holds for small shares ends to hold.
func solve(holds func(share float64) bool) float64 {
	low, high := 0.0, 1.0
	for range 60 {
		if middle := (low + high) / 2; holds(middle) {
			low = middle
		} else {
			high = middle
		}
	}
	return (low + high) / 2
}
