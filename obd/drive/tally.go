package drive

import (
	"judder/obd"
	"slices"
)

// ask asks until there is an answer that can be kept, or as often as makes sense. only is
// the reply address that counts; "" for all.
func (q *Inquiry) ask(request, only string) ([]Answer, error) {
	p, begun := q.p, q.p.cfg.Since()
	t := tally{only: only, known: q.ECUs()}
	for busy, damaged := 0, 0; ; {
		answers, hurt, err := q.once(request, only)
		if err != nil {
			return nil, err
		}
		if !p.can.Slow && p.can.Form != obd.FormBare { // there one computer may need several answers, or has no name
			answers = t.add(answers, hurt)
		}
		early := p.cfg.Since()-begun < pendingMost
		switch {
		case q.worthWaiting(answers, early):
			if err := p.awaitPending(); err != nil {
				return nil, err
			}
		case slices.ContainsFunc(answers, isBusy) && busy < busyMost:
			busy++
			p.rest(busyPause)
		case anyOf(answers, Damaged) && damaged < damagedMost && early:
			damaged++
			p.rest(pauseAgain)
		default:
			return answers, nil
		}
		if p.ctx.Err() != nil {
			return nil, ErrOver
		}
	}
}

// worthWaiting tells whether a computer says "wait" that may answer in time. Those that said
// so for as long as is waited are remembered, and not waited for again.
func (q *Inquiry) worthWaiting(answers []Answer, early bool) bool {
	waits := false
	for i := range answers {
		if a := &answers[i]; a.Outcome == Pending && !q.slow[a.ECU] {
			waits = true
			if !early {
				q.slow[a.ECU] = true
			}
		}
	}
	return waits && early
}

func isBusy(a Answer) bool { return a.Outcome == Declined && a.Code == busyRepeat }

// tally is what became of a question that is put several times because not every computer
// answered whole: the best that each one said.
type tally struct {
	only  string   // the computer asked; "" for all
	known []string // computers that answer as a rule
	best  []Answer // one for each computer that said anything
	hurt  []string // computers of which only parts came in some try
}

// nobody is the name of whoever sent a line that does not show whose it is.
const nobody = "?"

// add takes in the answers of one try and returns what the question has brought so far. A
// damaged line counts no more when everybody known, and everybody of whom parts came, has
// answered whole; one that does not show whose it is counts until a try brings none.
func (t *tally) add(answers []Answer, hurt []string) []Answer {
	damage := slices.IndexFunc(answers, func(a Answer) bool { return a.Outcome == Damaged })
	for _, a := range answers {
		if a.Outcome == Damaged || a.Outcome == Silent {
			continue
		}
		if i := slices.IndexFunc(t.best, func(b Answer) bool { return b.ECU == a.ECU }); i < 0 {
			t.best = append(t.best, a)
		} else if worth(&a) > worth(&t.best[i]) {
			t.best[i] = a
		}
	}
	for _, id := range hurt {
		if id != nobody && (t.only == "" || t.only == id) && !slices.Contains(t.hurt, id) {
			t.hurt = append(t.hurt, id)
		}
	}
	out := slices.Clone(t.best)
	stray := t.only == "" && slices.Contains(hurt, nobody)
	switch lost := t.anyMissing(t.hurt); {
	case damage >= 0 && (lost || stray || t.anyMissing(t.expected())):
		out = append(out, answers[damage])
	case lost: // of somebody only parts came
		out = append(out, Answer{Outcome: Damaged})
	}
	if len(out) == 0 {
		return answers
	}
	return out
}

// expected are the computers whose answer would be enough; none where that is not known.
func (t *tally) expected() []string {
	switch {
	case t.only != "":
		return []string{t.only}
	case len(t.known) > 0:
		return t.known
	}
	return []string{""}
}

func (t *tally) anyMissing(ids []string) bool {
	return slices.ContainsFunc(ids, func(id string) bool {
		return !slices.ContainsFunc(t.best, func(a Answer) bool { return a.ECU == id })
	})
}

// worth orders what a computer may say to the same question: an answer, a refusal, "later".
func worth(a *Answer) int {
	switch {
	case a.Outcome == Answered:
		return 2
	case a.Outcome == Declined && !isBusy(*a):
		return 1
	}
	return 0
}

func anyOf(answers []Answer, o Outcome) bool {
	return slices.ContainsFunc(answers, func(a Answer) bool { return a.Outcome == o })
}
