package inquiry

import (
	"fmt"
	"slices"
	"strings"
	"time"

	"judder/obd"
	"judder/obd/adapter"
	"judder/obd/elm"
	"judder/obd/reply"
	"judder/obd/schedule"
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
	Mixed     bool          // several ECUs answer and the adapter shows of none who it is: a drive reads nothing
}

// abilities are tried in this order; each leaves the settings as it found them.
var abilities = []struct {
	name AbilityName
	try  func(*adapter.Conn) (Proven, string, error)
}{
	{"headers", tryHeaders},
	{"spaces off", trySpaces},
	{AdaptiveTiming, tryAdaptive},
	{"reply count digit", tryCount},
	{"several parameters a request", tryBundle},
	{"request of seven bytes", tryLong},
	{"asking one control unit", tryFocus},
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
	c := q.conn
	out := Examination{Car: c.Car().Text()}
	for _, a := range abilities {
		proven, detail, err := a.try(c)
		if err != nil {
			return out, err
		}
		out.Abilities = append(out.Abilities, Ability{a.name, proven, detail})
	}
	var err error
	if out.Mixed = c.Car().Mixed(); !out.Mixed {
		err = measure(c, &out)
	}
	out.Capabilities = c.Can()
	return out, err
}

// measure polls as a drive does, side requests included, and times it.
func measure(c *adapter.Conn, out *Examination) error {
	can := c.Can()
	can.Count = c.Car().Counts()
	s, side := schedule.New(can, c.Car().Wanted()), schedule.NewSide(c.Profile(), can, c.Car().Support())
	var took []time.Duration
	var last string
	begun, readings, renewed := c.Now()+measureAfter, 0, 0
	for c.Now()-begun < measureFor {
		if err := c.AskSide(side); err != nil {
			return err
		}
		request, x, got, err := c.AskNext(s)
		if err != nil {
			return err
		}
		if !got.Answered() || x.Sent < begun {
			continue
		}
		took = append(took, x.Done-x.Sent)
		r := reply.ParseRequest(request)
		if !r.Has(obd.EngineSpeed) {
			continue
		}
		readings++
		if v := engineBytes(got); v != last && v != standing {
			last = v
			renewed++
		}
	}
	if len(took) == 0 {
		return nil
	}
	slices.Sort(took)
	seconds := (c.Now() - begun).Seconds()
	out.Exchange, out.PerSecond, out.Renewed = took[len(took)/2], float64(readings)/seconds, float64(renewed)/seconds
	return nil
}

// examineLooks is how often a wait is measured.
const examineLooks = 6

// standing are the bytes of an engine speed of zero.
const standing = "\x00\x00"

// engineBytes are the two bytes of engine speed in a reply that begins with it; standing
// where there is none.
func engineBytes(got *reply.Decoded) string {
	for i := range got.Messages {
		if d := reply.ParameterData(got.Messages[i].Data); len(d) >= 3 && d[0] == obd.EngineSpeed {
			return string(d[1:3])
		}
	}
	return standing
}

func tryHeaders(c *adapter.Conn) (Proven, string, error) {
	switch {
	case c.Can().Form != obd.FormBare:
		return Works, "", nil
	case c.Refused("ATH1"):
		return Refuses, "control units cannot be told apart", nil
	}
	return Pretends, "control units cannot be told apart", nil
}

func trySpaces(c *adapter.Conn) (Proven, string, error) {
	x, _, err := c.Do(c.Can().Parameters(0), elm.WaitReply)
	if err != nil || len(x.Lines) == 0 {
		return Untried, "", err
	}
	switch {
	case !strings.Contains(strings.TrimSpace(x.Lines[len(x.Lines)-1].Text), " "):
		return Works, "", nil
	case c.Refused("ATS0"):
		return Refuses, "", nil
	}
	return Pretends, "", nil
}

// tryAdaptive compares the wait behind a reply with adaptive timing off and on, from the adapter's
// own wait.
func tryAdaptive(c *adapter.Conn) (Proven, string, error) {
	var idle [2]time.Duration
	for i, adaptive := range []bool{false, true} {
		if err := c.Wait().Try(adaptive); err != nil {
			return Untried, "", err
		}
		best := time.Hour
		for range examineLooks {
			x, got, err := c.Do(c.Can().Parameters(0), elm.WaitReply)
			if err != nil {
				return Untried, "", err
			}
			if n := len(x.Lines); got.WholeLines() > 0 {
				best = min(best, x.Done-x.Lines[n-1].At)
			}
		}
		idle[i] = best
	}
	if err := c.Wait().Back(); err != nil {
		return Untried, "", err
	}
	if c.Wait().FixedOnly() {
		return Refuses, "", nil
	}
	detail := fmt.Sprintf("waits %d ms behind a reply, %d ms without it", idle[1].Milliseconds(), idle[0].Milliseconds())
	if c.Can().Timeout > 0 {
		detail += fmt.Sprintf("; the wait is set to %d ms", c.Can().Timeout.Milliseconds())
	}
	if idle[1] < idle[0]*3/4 {
		return Works, detail, nil
	}
	return Pretends, detail, nil
}

// notFor is why an ability is not tried where control units cannot be told apart.
const notFor = "needs replies of one control unit"

func tryCount(c *adapter.Conn) (Proven, string, error) {
	if c.Car().Mixed() {
		return Untried, notFor, nil
	}
	if c.Can().Count {
		return Works, "", nil
	}
	if c.Car().CountIdle() {
		return Pretends, "the wait behind a reply is the same with it", nil
	}
	return Fails, "the adapter waits for more after each reply", nil
}

func tryBundle(c *adapter.Conn) (Proven, string, error) {
	switch {
	case c.Car().Mixed():
		return Untried, notFor, nil
	case c.Can().Slow:
		return Untried, "older buses carry one parameter a request", nil
	case c.Can().Successor:
		return Untried, "two identifiers of SAE J1979-2 fill more than a frame", nil
	case c.Can().Bundle:
		return Works, "engine speed shares its reply with another", nil
	}
	return Fails, "", nil
}

// tryLong asks for six parameters, the most that a request holds: engine speed and road
// speed must come back with them.
func tryLong(c *adapter.Conn) (Proven, string, error) {
	if !c.Can().Bundle {
		return Untried, "", nil
	}
	_, got, err := c.Do(obd.Hex(0x01, obd.EngineSpeed, 0x0D, 0x04, 0x05, 0x0B, 0x0F), elm.WaitReply)
	if err != nil {
		return Untried, "", err
	}
	for _, m := range got.Messages {
		if d := reply.ParameterData(m.Data); len(d) > 7 {
			return Works, "", nil
		}
	}
	return Fails, "", nil
}

// tryFocus has one ECU of several asked; where there is only one, an address at which there
// is nobody: silence is the known answer.
func tryFocus(c *adapter.Conn) (Proven, string, error) {
	engine := c.Car().Support().FirstWith(obd.EngineSpeed)
	switch {
	case c.Address().Alone() != "":
		return Works, c.Address().Alone() + " (one reply instead of several)", nil
	case !c.Can().Form.CAN() || engine == nil:
		return Untried, "only on CAN, with headers", nil
	}
	ask, want := obd.RequestAddress(engine.Name), 1
	if len(c.Car().Support().All) == 1 {
		ask, want = map[obd.Form]string{obd.FormCAN11: "7E7", obd.FormCAN29: "18DAEFF1"}[c.Can().Form], 0
		if obd.ReplyAddress(ask) == engine.Name {
			ask = "7E6"
		}
	}
	if err := c.Address().Direct(ask); err != nil {
		return Untried, "", err
	}
	_, got, err := c.Do(c.Can().Parameters(0), elm.WaitReply)
	if err != nil {
		return Untried, "", err
	}
	answered := len(got.Messages)
	if err := c.Address().Home(); err != nil {
		return Untried, "", err
	}
	detail := engine.Name
	if c.Can().Focus == "" {
		detail = "not used in a drive: others report what " + engine.Name + " does not"
	}
	switch {
	case c.Refused("ATSH" + obd.HeaderOf(ask)):
		return Refuses, "", nil
	case answered == want:
		return Works, detail, nil
	case answered > want:
		return Pretends, "others answer as well", nil
	}
	return Fails, "", nil
}

// tryFilter has the adapter listen to an address where nobody answers, and to the right one.
func tryFilter(c *adapter.Conn) (Proven, string, error) {
	var nobody string
	switch c.Can().Form {
	case obd.FormCAN11:
		nobody = "7EF"
	case obd.FormCAN29:
		nobody = "18DAF1EF"
	default:
		return Untried, "only on CAN, with headers", nil
	}
	if err := c.Address().Filter(nobody); err != nil {
		return Untried, "", err
	}
	refused := c.Refused("ATCRA" + nobody)
	_, silent, err := c.Do(c.Can().Parameters(0), elm.WaitReply)
	if err != nil {
		return Untried, "", err
	}
	heard := silent.Answered()
	if err := c.Address().Home(); err != nil {
		return Untried, "", err
	}
	_, back, err := c.Do(c.Can().Parameters(0), elm.WaitReply)
	switch {
	case err != nil:
		return Untried, "", err
	case refused:
		return Refuses, "", nil
	case heard:
		return Pretends, "", nil
	case back.Answered():
		return Works, "", nil
	}
	return Fails, "", nil
}

// longReply asks for the calibration ids, which fill several frames, and reports whether they
// came whole.
func longReply(c *adapter.Conn) (whole, asked bool, err error) {
	if c.Can().Slow {
		return false, false, nil
	}
	_, got, err := c.Do(c.Can().Information(obd.InfoCalibration), elm.WaitReply)
	for _, m := range got.Messages {
		if _, refused := m.Negative(); refused {
			continue
		}
		asked = true
		whole = whole || len(m.Data) > 7
	}
	asked = asked || got.Damaged > 0
	return whole && got.Damaged == 0, asked, err
}

func tryLongReply(c *adapter.Conn) (Proven, string, error) {
	whole, asked, err := longReply(c)
	switch {
	case err != nil || !asked:
		return Untried, "the car has none to give", err
	case whole:
		return Works, "", nil
	}
	return Fails, "parts were lost: codes and identification may be cut", nil
}

// tryFlow sets flow control by hand: with the engine ECU's own address and "send all"
// (30 00 00, ISO 15765-2) a long reply must come; without any, set by mode 1 with an address
// where nobody listens, only its first frame.
func tryFlow(c *adapter.Conn) (Proven, string, error) {
	if c.Can().Form != obd.FormCAN11 || c.Can().Focus == "" {
		return Untried, "only on CAN with 11 bits, with headers", nil
	}
	if whole, _, err := longReply(c); err != nil || !whole {
		return Untried, "needs a long reply", err
	}
	results := [2]bool{}
	for i, header := range []string{obd.RequestAddress(c.Can().Focus), "7EF"} {
		for _, command := range []string{"ATFCSH" + header, "ATFCSD300000", "ATFCSM1"} {
			if err := c.Set(command); err != nil {
				return Untried, "", err
			}
			if c.Refused(command) {
				return Refuses, "", c.Set("ATFCSM0")
			}
		}
		whole, _, err := longReply(c)
		if err != nil {
			return Untried, "", err
		}
		results[i] = whole
	}
	if err := c.Set("ATFCSM0"); err != nil {
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

func trySpeed(c *adapter.Conn) (Proven, string, error) {
	switch {
	case c.Speed().Found() == 0:
		return Untried, "the network has no speed to set", nil
	case c.Can().Baud > c.Speed().Found():
		return Works, fmt.Sprintf("%d baud instead of %d", c.Can().Baud, c.Speed().Found()), nil
	case c.Speed().Tried():
		return Refuses, fmt.Sprintf("stays at %d baud", c.Speed().Found()), nil
	}
	return Untried, fmt.Sprintf("%d baud is the most that is tried", c.Speed().Found()), nil
}
