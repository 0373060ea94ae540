package check

import "fmt"

// Change is one code in two checks.
type Change struct {
	ECU   string `json:"ecu"`
	Code  string `json:"code"`
	What  string `json:"what"` // new, gone, unchanged, changed
	Was   string `json:"was,omitempty"`
	Is    string `json:"is,omitempty"` // states, as "stored" or "pending, permanent"
	Text  string `json:"text,omitempty"`
	Other string `json:"note,omitempty"`
}

// Comparison is two checks side by side.
type Comparison struct {
	SameCar bool     `json:"same_car"` // as far as the VINs tell
	Changes []Change `json:"changes"`
	Notes   []string `json:"notes,omitempty"`
}

// Compare says what is new, gone, unchanged and changed from one check to the next. A
// computer that did not answer the second time is told apart from one without codes.
func Compare(before, after *Report) Comparison {
	c := Comparison{SameCar: before.VIN == after.VIN, Changes: []Change{}}
	if !c.SameCar {
		c.Notes = append(c.Notes, fmt.Sprintf("the checks are of different cars, or one has no VIN: %q and %q", before.VIN, after.VIN))
	}
	was, is := before.states(), after.states()
	for _, k := range was.order {
		w := was.of[k]
		change := Change{ECU: k.ecu, Code: k.code, What: "gone", Was: w.state, Text: w.text}
		if n, still := is.of[k]; still {
			change.What, change.Is = "unchanged", n.state
			if n.state != w.state {
				change.What = "changed"
			}
		} else if !after.answered(k.ecu) {
			change.What, change.Other = "not read", "this computer did not answer the second time"
		}
		c.Changes = append(c.Changes, change)
	}
	for _, k := range is.order {
		if _, old := was.of[k]; !old {
			change := Change{ECU: k.ecu, Code: k.code, What: "new", Is: is.of[k].state, Text: is.of[k].text}
			if !before.answered(k.ecu) {
				change.Other = "this computer did not answer the first time"
			}
			c.Changes = append(c.Changes, change)
		}
	}
	c.Notes = append(c.Notes, readinessNotes(after)...)
	return c
}

// readinessNotes say when an empty list proves little.
func readinessNotes(r *Report) (notes []string) {
	for i := range r.ECUs {
		open := 0
		for _, m := range r.ECUs[i].Readiness {
			if !m.Complete {
				open++
			}
		}
		if open > 0 {
			notes = append(notes, fmt.Sprintf("%s: %d self-tests have not run since codes were cleared; a code that is gone may come back", r.ECUs[i].called(), open))
		}
	}
	return notes
}

type codeKey struct{ ecu, code string }

type codeState struct{ state, text string }

type codeStates struct {
	of    map[codeKey]codeState
	order []codeKey
}

// states joins the states in which each computer tells each code.
func (r *Report) states() codeStates {
	s := codeStates{of: map[codeKey]codeState{}}
	for _, t := range r.told() {
		k := codeKey{t.by.ID, t.Code.Code}
		had, old := s.of[k]
		if old {
			s.of[k] = codeState{had.state + ", " + t.State, had.text}
			continue
		}
		s.of[k] = codeState{t.State, t.Text}
		s.order = append(s.order, k)
	}
	return s
}

func (r *Report) answered(ecu string) bool {
	for i := range r.ECUs {
		if r.ECUs[i].ID == ecu {
			return true
		}
	}
	return false
}
