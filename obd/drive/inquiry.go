package drive

import (
	"context"
	"errors"
	"fmt"
	"io"
	"judder/obd"
	"judder/obd/reply"
	"strconv"
	"strings"
	"time"

	"judder/prose"
)

// ErrNoCar is returned by Inquire when the adapter is there and the car does not answer in
// the time allowed.
var ErrNoCar = errors.New("the adapter answers, the car does not; switch the ignition on (engine off) and check the plug")

// Inquiry is a dialogue that has been set up and in which one asks what one wants, one
// request after the other.
type Inquiry struct {
	p       *Poller
	patient bool
	module  obd.Module      // asked alone now; none when all are
	flow    bool            // flow control is set by hand
	slow    map[string]bool // computers that said "wait" for as long as is waited
}

func newInquiry(p *Poller) *Inquiry { return &Inquiry{p: p, slow: map[string]bool{}} }

// Outcome says what became of a question to one computer.
type Outcome uint8

// The outcomes.
const (
	Answered    Outcome = iota
	Silent              // nobody answered
	Declined            // refused, with a code of ISO 14229-1
	Damaged             // something came, and not whole
	Pending             // it said "wait" for as long as is waited
	Misdirected         // another computer answered: the adapter does not ask the one it is told
)

var outcomeWords = [...]string{Answered: "answered", Silent: "silent", Declined: "refused", Damaged: "damaged", Pending: "still pending", Misdirected: "answered by another computer"}

// String is the outcome in words.
func (o Outcome) String() string { return outcomeWords[o] }

// Answer is what one computer made of a question.
type Answer struct {
	ECU     string // reply header; "" when nobody or nobody known answered
	Outcome Outcome
	Code    byte     // of a refusal
	Data    []byte   // service first, when answered
	Raw     []string // the lines as they came; control characters replaced
}

// How long and how often one waits and asks, all from ISO 14229-1's times: 5 s behind each
// "wait", bounded to half a minute; "busy" three times.
const (
	pendingMost  = 30 * time.Second
	pendingReply = 8 * time.Second // one reply; a patient adapter waits 5 s behind each "wait"
	busyMost     = 3
	busyPause    = 150 * time.Millisecond
	damagedMost  = 2
	busyRepeat   = 0x21
	patientReply = "ATST64" // 400 ms: modules behind a gateway answer late
)

// Inquire opens the port, sets adapter and car up, has ask put its questions, and closes the
// port. Every exchange goes to sink as in Run. The car is waited for at most so long; then
// the error is ErrNoCar. Otherwise it is the link's or that of ask.
func (p *Poller) Inquire(ctx context.Context, sink Sink, wait time.Duration, ask func(*Inquiry) error) error {
	found, stop := context.WithCancel(ctx)
	defer stop()
	timer := time.AfterFunc(wait, stop)
	defer timer.Stop()
	p.ctx, p.sink = found, sink
	defer p.close()
	err := p.reach()
	if err == nil {
		err = p.setUp()
		for try := 1; errors.Is(err, errSetUp) && try < firstTries; try++ {
			err = p.setUp()
		}
	}
	switch {
	case ctx.Err() != nil:
		return ctx.Err()
	case found.Err() != nil && p.can.Adapter != "":
		return ErrNoCar
	case found.Err() != nil:
		return &SilentError{Port: p.cfg.Name, Bauds: p.cfg.Bauds}
	case errors.Is(err, io.EOF):
		return fmt.Errorf("what is at %s hung up (no adapter, or one that was unplugged, is out of range or without power): %w", p.cfg.Name, err)
	case err != nil:
		return err
	}
	if !timer.Stop() {
		return ErrNoCar
	}
	return ask(newInquiry(p))
}

// Interject has ask put its questions between the poller's own, on its goroutine, as soon as
// the car answers; engine speed is not read meanwhile. It is false when another ask waits
// already. ask's error is its own business unless it is the link's.
func (p *Poller) Interject(ask func(*Inquiry) error) bool {
	select {
	case p.asks <- ask:
		return true
	default:
		return false
	}
}

// interject runs an ask; afterwards everything is set up afresh, so that nothing of it stays
// behind in the adapter.
func (p *Poller) interject(ask func(*Inquiry) error) error {
	err := ask(newInquiry(p))
	if p.ctx.Err() != nil {
		return ErrOver
	}
	if err != nil {
		return err
	}
	return p.setUpAgain(obd.CauseCheckOver, "asked what was asked for; setting up for the drive again")
}

// Capabilities are what adapter and car were seen to do.
func (q *Inquiry) Capabilities() obd.Capabilities { return q.p.can }

// ECUs are the computers that answered the first request for what is supported.
func (q *Inquiry) ECUs() []string { return q.p.support.ECUs() }

// Supports tells whether an ECU supports a PID of service 01.
func (q *Inquiry) Supports(ecu string, pid byte) bool {
	e := q.p.support.Of(ecu)
	return e != nil && e.Has(pid)
}

// Volts is the voltage at the diagnostic socket as the adapter measures it (AT RV); 0 when it
// cannot.
func (q *Inquiry) Volts() (volts float64, err error) {
	err = q.surviving(obd.Module{}, func() error {
		x, _, err := q.p.do("ATRV", waitSetting)
		if err != nil || len(x.Lines) == 0 {
			return err
		}
		text := strings.TrimSpace(x.Lines[len(x.Lines)-1].Text)
		v, wrong := strconv.ParseFloat(strings.TrimSuffix(strings.ToUpper(text), "V"), 64)
		if wrong == nil && v >= 0 && v <= 60 {
			volts = v
		}
		return nil
	})
	return volts, err
}

// Information is the request for an info type of SAE J1979's service 09, in the car's own way.
func (q *Inquiry) Information(item byte) string { return q.p.can.Information(item) }

// Parameters is the request for PIDs of SAE J1979 in the car's own way.
func (q *Inquiry) Parameters(pid ...byte) string { return q.p.can.Parameters(pid...) }

// AskAll asks every computer of the legislated ones: one Answer for each that did, or one
// that says why there is none. The error is the link's or the gate's.
func (q *Inquiry) AskAll(request string) (answers []Answer, err error) {
	err = q.surviving(obd.Module{}, func() error {
		answers, err = q.ask(request, "")
		return err
	})
	return answers, err
}

// Reaches tells whether a module can be asked alone here, as far as is known: not on the older
// buses, not without headers, only by an address of this bus, and not where the adapter
// refused the address.
func (q *Inquiry) Reaches(m obd.Module) bool {
	return m.On(q.p.can.Form) && !q.p.refused["ATSH"+obd.HeaderOf(m.Request)]
}

// AskOne asks one computer by its physical address: exactly one Answer; Silent where it
// cannot be reached.
func (q *Inquiry) AskOne(m obd.Module, request string) (Answer, error) {
	if !q.Reaches(m) {
		return Answer{Outcome: Silent}, nil
	}
	var answers []Answer
	p := q.p
	err := q.surviving(m, func() (err error) {
		for try := 1; ; try++ {
			if answers, err = q.ask(request, m.Reply); err != nil || !missed(answers[0]) || try == 2 {
				break
			}
			q.module, p.filter = obd.Module{}, "" // the adapter may have lost a word, or the answer
			if err = q.turnTo(m); err != nil {
				break
			}
		}
		if err != nil || answers[0].Outcome != Silent {
			return err
		}
		return q.stillSet()
	})
	if err != nil {
		return Answer{}, err
	}
	return answers[0], nil
}

// missed tells whether nothing, or nothing whole, came from the computer asked.
func missed(a Answer) bool {
	return a.Outcome == Silent || a.Outcome == Misdirected || a.Outcome == Damaged
}

// AskOnce is AskOne without a second try, whatever comes: for asking where nobody may be.
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

// Heard tells whether anything ever came from a reply address, asked for or late.
func (q *Inquiry) Heard(reply string) bool {
	return q.p.decoder.Heard(reply)
}

// turnTo has the adapter ask a module, or everybody, from now on.
func (q *Inquiry) turnTo(m obd.Module) error {
	p := q.p
	if !q.patient {
		q.patient, p.can.Timeout, p.can.Focus = true, 0, ""
		if err := p.set(patientReply); err != nil {
			return err
		}
		if p.alone != "" {
			if err := p.askEverybodyBare(); err != nil {
				return err
			}
		}
		if p.can.Form.CAN() {
			if err := p.home(); err != nil {
				return err
			}
		}
	}
	if m == q.module {
		return nil
	}
	was := q.module
	q.module = m
	p.decoder.Expect(m.Reply)
	if m == (obd.Module{}) {
		return q.leave(&was)
	}
	commands := []string{"ATSH" + obd.HeaderOf(m.Request), "ATCRA" + m.Reply}
	if was == (obd.Module{}) { // a wait learnt from the engine's computer is too short for others
		commands = append(commands, "ATAT0")
	}
	if !m.Legislated() { // ISO 15765-2: continue to send, all, without pause
		commands = append(commands, "ATFCSH"+m.Request, "ATFCSD300000", "ATFCSM1")
	} else if q.flow {
		commands = append(commands, "ATFCSM0")
	}
	q.flow = !m.Legislated()
	if err := q.setAll(commands...); err != nil {
		return err
	}
	p.filter = "ATCRA" + m.Reply
	if p.refused[p.filter] { // an older way to say the same
		mask := map[int]string{3: "7FF", 8: "1FFFFFFF"}[len(m.Reply)]
		return q.setAll("ATCF"+m.Reply, "ATCM"+mask)
	}
	return nil
}

// leave undoes what was set for a module: a filter left behind looks like a dead car.
func (q *Inquiry) leave(was *obd.Module) error {
	if q.flow {
		q.flow = false
		if err := q.p.set("ATFCSM0"); err != nil {
			return err
		}
	}
	if err := q.p.set("ATAT1"); err != nil {
		return err
	}
	if q.p.refused["ATCRA"+was.Reply] {
		zero := strings.Repeat("0", len(was.Reply))
		if err := q.setAll("ATCF"+zero, "ATCM"+zero); err != nil {
			return err
		}
	}
	return q.p.home()
}

func (q *Inquiry) setAll(commands ...string) error {
	for _, c := range commands {
		if err := q.p.set(c); err != nil {
			return err
		}
	}
	return nil
}

// stillSet tells a module that is silent from an adapter that forgot its settings without a
// word: everybody is asked what is known. A reply without its header is errSetUp.
func (q *Inquiry) stillSet() error {
	if err := q.turnTo(obd.Module{}); err != nil {
		return err
	}
	_, messages, err := q.p.do(q.p.can.Parameters(0), waitReply)
	if err == nil && reply.AnyBare(messages) {
		return errSetUp
	}
	return err
}

// once asks once. An adapter that lost its settings is errSetUp; one that went silent is
// waited for.
func (q *Inquiry) once(request, only string) (out []Answer, parts []string, err error) {
	p := q.p
	before := p.decoder.Counts
	x, messages, err := p.do(request, pendingReply)
	switch {
	case err != nil:
		return nil, nil, err
	case reply.Worst(&x) == reply.ActSetUp, reply.AnyBare(messages), p.can.Form != obd.FormBare && reply.LongBare(&x):
		return nil, nil, p.setUpAgain(obd.CauseRestarted, "setting the adapter up again"+reply.Why(&x, reply.ActSetUp))
	case x.Ending == obd.EndSilence:
		if err := p.resync(); err != nil {
			return nil, nil, err
		}
	}
	raw := rawLines(&x)
	others := false
	for i := range messages {
		m := &messages[i]
		if only != "" && m.ECU != only || m.Late {
			others = others || !m.Late
			continue
		}
		out = merge(out, answerOf(m, raw), p.several)
	}
	cut := x.Ending != obd.EndPrompt || reply.Worst(&x) > reply.ActRefused
	if cut || p.decoder.Counts.Damaged > before.Damaged || p.decoder.Unfinished(x.Sent) {
		out = append(out, Answer{Outcome: Damaged, Raw: raw})
		p.term.inStep = false
	}
	switch {
	case len(out) > 0:
	case others:
		out = append(out, Answer{ECU: only, Outcome: Misdirected, Raw: raw})
	default:
		out = append(out, Answer{ECU: only, Outcome: Silent, Raw: raw})
	}
	parts = p.decoder.PartsOnly(x.Sent)
	if cut || p.decoder.Counts.Nameless > before.Nameless {
		parts = append(parts, nobody)
	}
	return out, parts, nil
}

// answerOf is a reply as an answer.
func answerOf(m *reply.Message, raw []string) Answer {
	code, refused := m.Negative()
	switch {
	case refused && code == reply.ResponsePending:
		return Answer{ECU: m.ECU, Outcome: Pending, Code: code, Raw: raw}
	case refused:
		return Answer{ECU: m.ECU, Outcome: Declined, Code: code, Raw: raw}
	}
	return Answer{ECU: m.ECU, Data: append([]byte(nil), m.Data...), Raw: raw}
}

// merge adds an answer; one that says "wait" gives way to the one of the same computer that
// follows it. several computers without names may be any.
func merge(out []Answer, a Answer, several bool) []Answer {
	for i := range out {
		if out[i].ECU == a.ECU && out[i].Outcome == Pending && (a.ECU != "" || !several) {
			out[i] = a
			return out
		}
	}
	return append(out, a)
}

func rawLines(x *obd.Exchange) []string {
	out := make([]string, 0, len(x.Lines))
	for _, l := range x.Lines {
		out = append(out, prose.Clean(l.Text))
	}
	return out
}
