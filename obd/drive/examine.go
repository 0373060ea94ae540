package drive

import (
	"errors"
	"fmt"
	"judder/obd"
	"judder/obd/reply"
	"slices"
	"strings"
	"time"
)

// Proven says what became of an ability that an adapter may have.
type Proven uint8

// The outcomes.
const (
	Untried  Proven = iota // nothing could be compared
	Works                  // the known answer came
	Pretends               // the adapter says OK and does nothing, or something else
	Refuses                // the adapter does not know the command
	Fails                  // tried, and the known answer did not come
)

var provenWords = [...]string{Untried: "not tried", Works: "works", Pretends: "says OK and does nothing", Refuses: "not known to it", Fails: "does not work"}

// String is the outcome in words.
func (p Proven) String() string { return provenWords[p] }

// AbilityName is what an ability is called.
type AbilityName string

// AdaptiveTiming is the ability to wait no longer behind a reply than this car needs.
const AdaptiveTiming AbilityName = "adaptive timing"

// Ability is one thing an adapter may be able to do, and what came of trying it.
type Ability struct {
	Name   AbilityName
	Proven Proven
	Detail string // in words; "" for none
}

// Examination is what an adapter was seen to do, each by comparing a known answer.
type Examination struct {
	obd.Capabilities
	Car       string // in words: who answers, by which protocol
	Abilities []Ability
	Exchange  time.Duration // median, request for engine speed to prompt
	PerSecond float64       // engine-speed readings a second, measured
	Renewed   float64       // of these, a second, with another value than the one before; 0 while the engine stands
}

// abilities are tried in this order; each leaves the settings as it found them.
var abilities = []struct {
	name AbilityName
	try  func(*Poller) (Proven, string, error)
}{
	{"headers", tryHeaders},
	{"spaces off", trySpaces},
	{AdaptiveTiming, tryAdaptive},
	{"reply count digit", tryCount},
	{"several parameters a request", tryBundle},
	{"request of seven bytes", tryLong},
	{"asking one computer", tryFocus},
	{"receive filter", tryFilter},
	{"long replies", tryLongReply},
	{"flow control settings", tryFlow},
	{"higher serial speed", trySpeed},
}

// Readings a second are counted for so long, once the schedule has learnt its replies.
const (
	measureAfter = 3 * time.Second
	measureFor   = 5 * time.Second
)

// Examine tries what the adapter can do and counts the readings a second.
func (q *Inquiry) Examine() (Examination, error) {
	p := q.p
	out := Examination{Car: p.carText()}
	for _, a := range abilities {
		proven, detail, err := a.try(p)
		if err != nil {
			return out, err
		}
		out.Abilities = append(out.Abilities, Ability{a.name, proven, detail})
	}
	err := p.measure(&out)
	out.Capabilities = p.can
	return out, err
}

// measure polls as a drive does, other computers included, and times it.
func (p *Poller) measure(out *Examination) error {
	var took []time.Duration
	var last string
	begun, readings, renewed := p.cfg.Since()+measureAfter, 0, 0
	for p.cfg.Since()-begun < measureFor {
		if err := p.runErrands(); err != nil {
			return err
		}
		request, x, messages, err := p.askNext()
		if err != nil {
			return err
		}
		if !reply.Answered(messages) || x.Sent < begun {
			continue
		}
		took = append(took, x.Done-x.Sent)
		a := reply.ParseQuestion(request)
		if !a.Has(obd.EngineSpeed) {
			continue
		}
		readings++
		if v := engineBytes(messages); v != last && v != standing {
			last = v
			renewed++
		}
	}
	if len(took) == 0 {
		return nil
	}
	slices.Sort(took)
	seconds := (p.cfg.Since() - begun).Seconds()
	out.Exchange, out.PerSecond, out.Renewed = took[len(took)/2], float64(readings)/seconds, float64(renewed)/seconds
	return nil
}

// standing are the bytes of an engine speed of zero.
const standing = "\x00\x00"

// engineBytes are the two bytes of engine speed in a reply that begins with it; standing
// where there is none.
func engineBytes(messages []reply.Message) string {
	for i := range messages {
		if d := reply.ParameterData(messages[i].Data); len(d) >= 3 && d[0] == obd.EngineSpeed {
			return string(d[1:3])
		}
	}
	return standing
}

func tryHeaders(p *Poller) (Proven, string, error) {
	switch {
	case p.can.Form != obd.FormBare:
		return Works, "", nil
	case p.refused["ATH1"]:
		return Refuses, "computers cannot be told apart", nil
	}
	return Pretends, "computers cannot be told apart", nil
}

func trySpaces(p *Poller) (Proven, string, error) {
	x, _, err := p.do(p.can.Parameters(0), waitReply)
	if err != nil || len(x.Lines) == 0 {
		return Untried, "", err
	}
	switch {
	case !strings.Contains(strings.TrimSpace(x.Lines[len(x.Lines)-1].Text), " "):
		return Works, "", nil
	case p.refused["ATS0"]:
		return Refuses, "", nil
	}
	return Pretends, "", nil
}

// tryAdaptive compares the wait behind a reply with adaptive timing off and on, from the adapter's
// own wait.
func tryAdaptive(p *Poller) (Proven, string, error) {
	var idle [2]time.Duration
	for i, command := range []string{"ATAT0", "ATAT1"} {
		if err := errors.Join(p.set(command), p.setWait(0)); err != nil {
			return Untried, "", err
		}
		best := time.Hour
		for range tuneLooks {
			x, messages, err := p.do(p.can.Parameters(0), waitReply)
			if err != nil {
				return Untried, "", err
			}
			if n := len(x.Lines); reply.WholeLines(&x, messages) > 0 {
				best = min(best, x.Done-x.Lines[n-1].At)
			}
		}
		idle[i] = best
	}
	if err := p.setWait(p.can.Timeout); err != nil {
		return Untried, "", err
	}
	if p.refused["ATAT1"] {
		return Refuses, "", nil
	}
	detail := fmt.Sprintf("waits %d ms behind a reply, %d ms without it", idle[1].Milliseconds(), idle[0].Milliseconds())
	if p.can.Timeout > 0 {
		detail += fmt.Sprintf("; the wait is set to %d ms", p.can.Timeout.Milliseconds())
	}
	if idle[1] < idle[0]*3/4 {
		return Works, detail, nil
	}
	return Pretends, detail, nil
}

func tryCount(p *Poller) (Proven, string, error) {
	if p.can.Count {
		return Works, "", nil
	}
	if p.idleCount {
		return Pretends, "the wait behind a reply is the same with it", nil
	}
	return Fails, "the adapter waits for more after each reply", nil
}

func tryBundle(p *Poller) (Proven, string, error) {
	switch {
	case p.can.Slow:
		return Untried, "older buses carry one parameter a request", nil
	case p.can.Successor:
		return Untried, "two identifiers of SAE J1979-2 fill more than a frame", nil
	case p.can.Bundle:
		return Works, "engine speed shares its reply with another", nil
	}
	return Fails, "", nil
}

// tryLong asks for six parameters, the most that a request holds: engine speed and road
// speed must come back with them.
func tryLong(p *Poller) (Proven, string, error) {
	if !p.can.Bundle {
		return Untried, "", nil
	}
	_, messages, err := p.do(obd.Hex(0x01, obd.EngineSpeed, 0x0D, 0x04, 0x05, 0x0B, 0x0F), waitReply)
	if err != nil {
		return Untried, "", err
	}
	for _, m := range messages {
		if d := reply.ParameterData(m.Data); len(d) > 7 {
			return Works, "", nil
		}
	}
	return Fails, "", nil
}

// tryFocus has one computer of several asked; where there is only one, an address at which there
// is nobody: silence is the known answer.
func tryFocus(p *Poller) (Proven, string, error) {
	teller := p.support.FirstWith(obd.EngineSpeed)
	switch {
	case p.alone != "":
		return Works, p.alone + " (one reply in place of several)", nil
	case !p.can.Form.CAN() || teller == nil:
		return Untried, "only on CAN, with headers", nil
	}
	ask, want := obd.RequestAddress(teller.Name), 1
	if len(p.support.All) == 1 {
		ask, want = map[obd.Form]string{obd.FormCAN11: "7E7", obd.FormCAN29: "18DAEFF1"}[p.can.Form], 0
		if obd.ReplyAddress(ask) == teller.Name {
			ask = "7E6"
		}
	}
	if err := p.direct(obd.HeaderOf(ask), "ATCRA"); err != nil {
		return Untried, "", err
	}
	_, messages, err := p.do(p.can.Parameters(0), waitReply)
	if err != nil {
		return Untried, "", err
	}
	answered := len(messages)
	if err := p.home(); err != nil {
		return Untried, "", err
	}
	detail := teller.Name
	if p.can.Focus == "" {
		detail = "not used in a drive: others tell what " + teller.Name + " does not"
	}
	switch {
	case p.refused["ATSH"+obd.HeaderOf(ask)]:
		return Refuses, "", nil
	case answered == want:
		return Works, detail, nil
	case answered > want:
		return Pretends, "others answer as well", nil
	}
	return Fails, "", nil
}

// tryFilter has the adapter listen to an address where nobody answers, and to the right one.
func tryFilter(p *Poller) (Proven, string, error) {
	var nobody string
	switch p.can.Form {
	case obd.FormCAN11:
		nobody = "7EF"
	case obd.FormCAN29:
		nobody = "18DAF1EF"
	default:
		return Untried, "only on CAN, with headers", nil
	}
	if err := p.set("ATCRA" + nobody); err != nil {
		return Untried, "", err
	}
	refused := p.refused["ATCRA"+nobody]
	_, silent, err := p.do(p.can.Parameters(0), waitReply)
	if err != nil {
		return Untried, "", err
	}
	heard := reply.Answered(silent)
	p.filter = nobody // so that home sets it back
	if err := p.home(); err != nil {
		return Untried, "", err
	}
	_, back, err := p.do(p.can.Parameters(0), waitReply)
	switch {
	case err != nil:
		return Untried, "", err
	case refused:
		return Refuses, "", nil
	case heard:
		return Pretends, "", nil
	case reply.Answered(back):
		return Works, "", nil
	}
	return Fails, "", nil
}

// longReply asks for the calibration ids, which fill several frames, and tells whether they
// came whole.
func (p *Poller) longReply() (whole, asked bool, err error) {
	if p.can.Slow {
		return false, false, nil
	}
	damaged := p.decoder.Counts.Damaged
	_, messages, err := p.do(p.can.Information(obd.InfoCalibration), waitReply)
	for _, m := range messages {
		if _, refused := m.Negative(); refused {
			continue
		}
		asked = true
		whole = whole || len(m.Data) > 7
	}
	asked = asked || p.decoder.Counts.Damaged > damaged
	return whole && p.decoder.Counts.Damaged == damaged, asked, err
}

func tryLongReply(p *Poller) (Proven, string, error) {
	whole, asked, err := p.longReply()
	switch {
	case err != nil || !asked:
		return Untried, "the car has none to give", err
	case whole:
		return Works, "", nil
	}
	return Fails, "parts were lost: codes and identification may be cut", nil
}

// tryFlow sets flow control by hand: with the engine computer's own address and "send all"
// (30 00 00, ISO 15765-2) a long reply must come; without any, set by mode 1 with an address
// where nobody listens, only its first frame.
func tryFlow(p *Poller) (Proven, string, error) {
	if p.can.Form != obd.FormCAN11 || p.can.Focus == "" {
		return Untried, "only on CAN with 11 bits, with headers", nil
	}
	if whole, _, err := p.longReply(); err != nil || !whole {
		return Untried, "needs a long reply", err
	}
	results := [2]bool{}
	for i, header := range []string{obd.RequestAddress(p.can.Focus), "7EF"} {
		for _, command := range []string{"ATFCSH" + header, "ATFCSD300000", "ATFCSM1"} {
			if err := p.set(command); err != nil {
				return Untried, "", err
			}
			if p.refused[command] {
				return Refuses, "", p.set("ATFCSM0")
			}
		}
		whole, _, err := p.longReply()
		if err != nil {
			return Untried, "", err
		}
		results[i] = whole
	}
	if err := p.set("ATFCSM0"); err != nil {
		return Untried, "", err
	}
	switch {
	case results[0] && !results[1]:
		return Works, "", nil
	case results[0]:
		return Pretends, "", nil
	}
	return Fails, "", nil
}

func trySpeed(p *Poller) (Proven, string, error) {
	switch {
	case p.baud == 0:
		return Untried, "the network has no speed to set", nil
	case p.can.Baud > p.baud:
		return Works, fmt.Sprintf("%d baud in place of %d", p.can.Baud, p.baud), nil
	case p.refused[faster[0].command] || len(p.noFaster) > 0:
		return Refuses, fmt.Sprintf("stays at %d baud", p.baud), nil
	}
	return Untried, fmt.Sprintf("%d baud is the most that is tried", p.baud), nil
}
