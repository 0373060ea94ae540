package read

import (
	"judder/obd/inquiry"
	"slices"

	"judder/check"
)

// named are ECUs in order, the engine's first (ISO 15765-4). One reply that lost its header on
// the way makes no ECU without a name beside those that have one.
func named(ids []string) []string {
	ids = slices.Sorted(slices.Values(ids))
	if len(ids) > 1 && ids[0] == "" {
		return ids[1:]
	}
	return ids
}

// countTries bounds how often ECUs without names are counted.
const countTries = 4

// count counts ECUs without names, until two counts in a row agree: a reply may be lost, or come
// twice.
func (a *asker) count() error {
	for try, was := 0, -1; try < countTries; try++ {
		answers, err := a.q.AskAll(a.q.Parameters(0))
		if err != nil {
			return err
		}
		n := 0
		for i := range answers {
			if answers[i].Outcome == inquiry.Answered {
				n++
			}
		}
		if a.ecus = max(a.ecus, n); n == was {
			a.ecus = n
			break
		}
		was = n
	}
	return nil
}

// owed is how many answers are due where ECUs have no names.
func (a *asker) owed(d due) int {
	if d.maps == nil {
		return max(a.ecus, 1)
	}
	n := d.maps.count(d.id)
	if d.most > 0 {
		n = min(n, d.most)
	}
	return n
}

// fewer is what became of a question to everybody that fewer ECUs without names answered than
// there are; ok is false where all did, or where nothing follows from that.
func (a *asker) fewer(in round) (few check.Outcome, ok bool) {
	if !a.r.Nameless || !a.can || in.became[""].Kind != check.Read || in.answers >= a.ecus {
		return few, false
	}
	return check.Outcome{Kind: check.FewerAnswered, N: in.answers, Of: a.ecus}, true
}
