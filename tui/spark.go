package tui

import "math"

// sparkParts is how many steps the value axis of a sparkline has.
const sparkParts = 4

var sparkBlocks = []rune("▁▂▃▄▅▆▇█")

// spark draws one block a column, as high as the column's far reading is between lo and
// hi; a blank where the column is empty.
func spark(cols []column, lo, hi float64) string {
	out := make([]rune, len(cols))
	for i, c := range cols {
		out[i] = block(c.far, lo, hi)
	}
	return string(out)
}

func block(v, lo, hi float64) rune {
	if math.IsNaN(v) || !(hi > lo) {
		return ' '
	}
	top := len(sparkBlocks) - 1
	k := int(math.Round((v - lo) / (hi - lo) * float64(top)))
	return sparkBlocks[max(0, min(k, top))]
}
