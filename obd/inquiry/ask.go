package inquiry

import (
	"slices"
	"time"

	"judder/obd"
	"judder/obd/adapter"
	"judder/obd/elm"
	"judder/obd/reply"
)

// How long and how often one waits and asks, all from ISO 14229-1's times: 5 s after each
// "wait", bounded to half a minute; "busy" three times.
const (
	pendingMost   = 30 * time.Second
	pendingReply  = 8 * time.Second // one reply; an adapter that waits its longest waits 5 s after each "wait"
	pendingListen = time.Second     // for an answer that comes after "wait"
	busyMost      = 3
	busyPause     = 150 * time.Millisecond
	damagedMost   = 2
	damagedPause  = 50 * time.Millisecond
	nearWithin    = 100 * time.Millisecond // ISO 14229-2: 50 ms, with as much again for gateway and adapter
	busyRepeat    = 0x21
)

// AskOne asks one ECU by its physical address: exactly one Answer; Silent where it
// cannot be reached.
func (q *Inquiry) AskOne(m obd.Module, request string) (Answer, error) {
	if !q.Reaches(m) {
		return Answer{Outcome: Silent}, nil
	}
	var answers []Answer
	err := q.surviving(m, func() (err error) {
		if answers, err = q.ask(request, m.Reply); err != nil {
			return err
		}
		if missed(answers[0]) { // the adapter may have lost a word, or the answer, or not waited for it
			if err = q.again(m); err != nil {
				return err
			}
			if answers, err = q.ask(request, m.Reply); err != nil {
				return err
			}
		}
		if answers[0].Outcome == Silent {
			return q.stillSet()
		}
		return q.learnNear(m)
	})
	if err != nil {
		return Answer{}, err
	}
	return answers[0], nil
}

// again has the adapter ask an ECU that did not answer once more, and wait as long as any may need.
func (q *Inquiry) again(m obd.Module) error {
	if err := q.conn.Address().Again(m); err != nil || !q.near[m.Reply] {
		return err
	}
	q.near[m.Reply] = false
	return q.conn.Wait().ForFurther(true)
}

// learnNear keeps that an ECU answered soon, and has the adapter wait for it no longer than that
// needs. One that did not answer in that time once is waited for as any other.
func (q *Inquiry) learnNear(m obd.Module) error {
	if _, known := q.near[m.Reply]; !known {
		q.near[m.Reply] = q.took > 0 && q.took <= nearWithin
	}
	if !q.near[m.Reply] {
		return nil
	}
	return q.conn.Wait().ForNear()
}

// missed reports whether nothing, or nothing whole, came from the ECU asked.
func missed(a Answer) bool {
	return a.Outcome == Silent || a.Outcome == Misdirected || a.Outcome == Damaged
}

// AskOnce is AskOne without a second try: for an address at which there may be no ECU.
func (q *Inquiry) AskOnce(m obd.Module, request string) (Answer, error) {
	if err := q.turnTo(m); err != nil {
		return Answer{}, err
	}
	answers, _, err := q.once(request, m.Reply)
	if err != nil {
		return Answer{}, err
	}
	return answers[0], nil
}

// turnTo has the adapter ask an ECU, or everybody, from now on.
func (q *Inquiry) turnTo(m obd.Module) error {
	c := q.conn
	if !q.begun {
		q.begun = true
		if err := c.Address().Unfocus(); err != nil {
			return err
		}
		if err := c.Wait().ForFurther(false); err != nil {
			return err
		}
	}
	if m == c.Address().Module() {
		return nil
	}
	if err := c.Address().To(m); err != nil {
		return err
	}
	alone := m != obd.Module{} && (q.route != routeEach || !slices.Contains(q.ECUs(), m.Reply))
	if err := c.Wait().ForFurther(alone); err != nil || !q.near[m.Reply] {
		return err
	}
	return c.Wait().ForNear()
}

// stillSet finds out whether a silent ECU is one, or the adapter forgot its settings without a
// word: everybody is asked what is known. A reply without its header is ErrSetUp.
func (q *Inquiry) stillSet() error {
	if err := q.turnTo(obd.Module{}); err != nil {
		return err
	}
	_, got, err := q.conn.Do(q.Parameters(0), elm.WaitReply)
	if err == nil && got.AnyBare() {
		return adapter.ErrSetUp
	}
	return err
}

// ask asks until there is an answer that can be kept, or as often as makes sense. only is
// the reply address that counts; "" for all. Where no ECU asked to wait, the adapter goes back from
// its longest wait.
func (q *Inquiry) ask(request, only string) ([]Answer, error) {
	c, begun := q.conn, q.conn.Now()
	can := c.Can()
	b := best{only: only, known: q.ECUs()}
	for busy, damaged, waited := 0, 0, false; ; {
		answers, parts, err := q.once(request, only)
		if err != nil {
			return nil, err
		}
		if !can.Slow && can.Form != obd.FormBare { // there one ECU may need several answers, or has no name
			answers = b.add(answers, parts)
		}
		early := c.Now()-begun < pendingMost
		switch {
		case q.worthWaiting(answers, early):
			waited = true
			if err := q.pending(); err != nil {
				return nil, err
			}
		case slices.ContainsFunc(answers, isBusy) && busy < busyMost:
			busy++
			c.Rest(busyPause)
		case anyOf(answers, Damaged) && damaged < damagedMost && early:
			damaged++
			c.Rest(damagedPause)
		case waited:
			return answers, nil
		default:
			return answers, c.Wait().Back()
		}
		if c.Over() {
			return nil, elm.ErrOver
		}
	}
}

// pending has the adapter wait its longest when an ECU asks to wait, because at its prompt it hears
// nothing of the bus; and listens for what it may put out all the same.
func (q *Inquiry) pending() error {
	if err := q.conn.Listen(pendingListen); err != nil {
		return err
	}
	return q.conn.Wait().Longest()
}

// worthWaiting reports whether an ECU asks to wait and may still answer in time. An ECU that asked
// until the waiting was given up is remembered, and not waited for again.
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

// once asks once. An adapter that lost its settings is ErrSetUp; one that went silent is
// waited for. parts are the ECUs of which only parts came.
func (q *Inquiry) once(request, only string) (out []Answer, parts []string, err error) {
	x, got, err := q.conn.Do(request, pendingReply)
	if err != nil {
		return nil, nil, err
	}
	if q.took = 0; len(x.Lines) > 0 {
		q.took = x.Lines[len(x.Lines)-1].At - x.Sent
	}
	return q.answers(&x, got, only)
}

// answers are what became of an exchange.
func (q *Inquiry) answers(x *obd.Exchange, got *reply.Decoded, only string) (out []Answer, parts []string, err error) {
	c := q.conn
	if c.Car().Forgot(x, got) {
		return nil, nil, c.ForgotSettings(x)
	}
	raw, others := rawLines(x), false
	for i := range got.Messages {
		m := &got.Messages[i]
		if only != "" && m.ECU != only || m.Late {
			others = others || !m.Late
			continue
		}
		out = merge(out, answerOf(m, raw), c.Car().Several())
	}
	cut := x.Ending != obd.EndPrompt || reply.Worst(x) > reply.ActRefused
	if cut || got.Damaged > 0 || got.Unfinished {
		out = append(out, Answer{Outcome: Damaged, Raw: raw})
		c.Doubt()
	}
	switch {
	case len(out) > 0:
	case others:
		out = append(out, Answer{ECU: only, Outcome: Misdirected, Raw: raw})
	default:
		out = append(out, Answer{ECU: only, Outcome: Silent, Raw: raw})
	}
	parts = slices.Clone(got.PartsOnly)
	if cut || got.Nameless > 0 {
		parts = append(parts, nobody)
	}
	if x.Ending == obd.EndSilence {
		err = c.Resync()
	}
	return out, parts, err
}
