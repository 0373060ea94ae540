package inquiry

import (
	"slices"
	"time"

	"github.com/judder-obd/judder/obd"
	"github.com/judder-obd/judder/obd/adapter"
	"github.com/judder-obd/judder/obd/elm"
	"github.com/judder-obd/judder/obd/reply"
)

// How long and how often one waits and asks, all from ISO 14229-1's times: 5 s after each
// "wait", bounded to half a minute; "busy" three times.
const (
	pendingMost  = 30 * time.Second
	pendingReply = 8 * time.Second // one reply; an adapter that waits its longest waits 5 s after each "wait"
	busyMost     = 3
	busyPause    = 150 * time.Millisecond
	damagedMost  = 2
	damagedPause = 50 * time.Millisecond
	busyRepeat   = 0x21
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
		q.patience.learn(m.Reply)
		return q.waitFor(m)
	})
	if err != nil {
		return Answer{}, err
	}
	return answers[0], nil
}

// again has the adapter ask an ECU that did not answer once more, and wait as long as any may need.
func (q *Inquiry) again(m obd.Module) error {
	if err := q.conn.Address().Again(m); err != nil || !q.patience.soon(m.Reply) {
		return err
	}
	q.patience.pace[m.Reply] = paceUsual
	return q.conn.Wait().ForFurther(true)
}

// waitFor has the adapter wait for an ECU no longer than it needs.
func (q *Inquiry) waitFor(m obd.Module) error {
	if !q.patience.soon(m.Reply) {
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
	alone := m != obd.Module{} && (q.all.route != routeEach || !slices.Contains(q.ECUs(), m.Reply))
	if err := c.Wait().ForFurther(alone); err != nil {
		return err
	}
	return q.waitFor(m)
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
		case q.patience.worthWaiting(answers, early):
			waited = true
			if err := q.conn.Wait().Pending(); err != nil {
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

// once asks once. An adapter that lost its settings is ErrSetUp; one that went silent is
// waited for. parts are the ECUs of which only parts came.
func (q *Inquiry) once(request, only string) (out []Answer, parts []string, err error) {
	x, got, err := q.conn.Do(request, pendingReply)
	if err != nil {
		return nil, nil, err
	}
	q.patience.note(&x)
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
