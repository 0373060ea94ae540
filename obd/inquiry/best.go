package inquiry

import "slices"

// best is what became of a question that is put several times because not every ECU
// answered whole: the best answer of each. An ECU of which only parts ever came stays named, so
// that it does not pass for one without anything to report.
type best struct {
	only  string   // the ECU asked; "" for all
	known []string // ECUs that answer as a rule
	all   []Answer // one for each ECU that answered at all
	parts []string // ECUs of which only parts came in some try
}

// nobody is the name of whoever sent a line that does not show whose it is.
const nobody = "?"

// add takes in the answers of one try and returns what the question has brought so far. A
// damaged line counts no more when everybody known, and everybody of whom parts came, has
// answered whole; one that does not show whose it is counts until a try brings none.
func (b *best) add(answers []Answer, parts []string) []Answer {
	damage := slices.IndexFunc(answers, func(a Answer) bool { return a.Outcome == Damaged })
	for _, a := range answers {
		if a.Outcome == Damaged || a.Outcome == Silent {
			continue
		}
		if i := slices.IndexFunc(b.all, func(o Answer) bool { return o.ECU == a.ECU }); i < 0 {
			b.all = append(b.all, a)
		} else if worth(&a) > worth(&b.all[i]) {
			b.all[i] = a
		}
	}
	for _, id := range parts {
		if id != nobody && (b.only == "" || b.only == id) && !slices.Contains(b.parts, id) {
			b.parts = append(b.parts, id)
		}
	}
	out := slices.Clone(b.all)
	stray := b.only == "" && slices.Contains(parts, nobody)
	switch lost := b.anyMissing(b.parts); {
	case damage >= 0 && (lost || stray || b.anyMissing(b.expected())):
		out = append(out, answers[damage])
	case lost: // of somebody only parts came
		out = append(out, Answer{Outcome: Damaged})
	}
	if len(out) == 0 {
		return answers
	}
	return out
}

// expected are the ECUs whose answer would be enough; none where that is not known.
func (b *best) expected() []string {
	switch {
	case b.only != "":
		return []string{b.only}
	case len(b.known) > 0:
		return b.known
	}
	return []string{""}
}

func (b *best) anyMissing(ids []string) bool {
	return slices.ContainsFunc(ids, func(id string) bool {
		return !slices.ContainsFunc(b.all, func(a Answer) bool { return a.ECU == id })
	})
}
