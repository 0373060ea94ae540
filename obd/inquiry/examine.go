package inquiry

import (
	"time"

	"github.com/judder-obd/judder/obd"
	"github.com/judder-obd/judder/obd/adapter"
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

// AdaptiveTiming is the ability to wait no longer after a reply than this car needs.
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
	Car       string // in words: who answers
	Abilities []Ability
	Exchange  time.Duration // median, request for engine speed to prompt
	PerSecond float64       // engine-speed readings a second, measured
	Renewed   float64       // of these, a second, with another value than the one before; 0 while the engine stands
	Traffic   BusTraffic    // what else of the bus the socket shows
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

// Examine tries what the adapter can do, counts the readings a second, and listens to the bus.
func (q *Inquiry) Examine() (Examination, error) {
	c := q.conn
	out := Examination{Car: c.Car().Who()}
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
	if err == nil {
		out.Traffic, err = q.listen()
	}
	out.Capabilities = c.Can()
	return out, err
}
