package check

import (
	"iter"
	"slices"
	"strings"

	"github.com/judder-obd/judder/pids/dtc"
)

// Codes goes through the codes of each ECU with all states in which it reports them, sorted
// backwards: stored, permanent, pending.
func (r *Report) Codes() iter.Seq[Stated] {
	return func(yield func(Stated) bool) {
		var order []Stated
		for e, c := range r.EachCode() {
			i := slices.IndexFunc(order, func(s Stated) bool { return s.ECU == e && s.Code == c.Code })
			if i < 0 {
				i = len(order)
				order = append(order, Stated{ECU: e, Code: c.Code})
			}
			s := &order[i]
			s.Text = c.Text
			if !slices.Contains(s.States, c.State) {
				s.States = append(s.States, c.State)
			}
		}
		for _, s := range order {
			slices.SortFunc(s.States, func(a, b dtc.State) int { return strings.Compare(b.String(), a.String()) })
			if !yield(s) {
				return
			}
		}
	}
}

// Stated is a code of one ECU with all its states.
type Stated struct {
	ECU    *ECU
	Code   string
	States []dtc.State
	Text   string
}
