package reply

import "strings"

// Action is what the poller does about a status text.
type Action uint8

// The actions, mildest first: of several texts in one reply the last in this order counts.
const (
	ActNothing Action = iota // part of a normal reply
	ActDrop                  // the line is damaged: drop it, ask again
	ActCount                 // nobody answered: count, ask again, give up on the car when it goes on
	ActRefused               // the adapter does not know or does not take this command
	ActAgain                 // wait a moment, ask again
	ActReopen                // close the protocol and look for the car again
	ActSetUp                 // the adapter has lost its settings: set it up again
)

// place is where on a line a status text is.
type place uint8

// The places.
const (
	whole  place = iota // the line is the text
	Prefix              // the line begins with it; what follows is looked at on its own
	Suffix              // the line ends with it
)

// Status is one text that an adapter sends instead of data, before it or after it.
type Status struct {
	Text   string
	Place  place
	Action Action
	Means  string // to the user: what it is and what to do
}

// Statuses follow the error message section of the ELM327 data sheet (pp. 87-90), the texts
// of its sister chips, and the start-up texts of its K-line section (p. 33). The first row
// that fits a line counts.
var Statuses = []Status{
	{"SEARCHING...", Prefix, ActNothing, "the adapter is looking for the car's protocol"},
	{"BUS INIT: ...OK", Prefix, ActNothing, "the K-line is up"},
	{"BUS INIT: OK", Prefix, ActNothing, "the K-line is up"},
	{"BUS INIT: ...ERROR", whole, ActReopen, "the car did not wake on the K-line; is the ignition on?"},
	{"BUS INIT: ERROR", whole, ActReopen, "the car did not wake on the K-line; is the ignition on?"},
	{"BUS INIT: ...", Prefix, ActNothing, "the K-line is being woken"},
	{"OK", whole, ActNothing, "done"},
	{"?", whole, ActRefused, "the adapter does not know this command"},
	{"NO DATA", whole, ActCount, "no control unit answered in time"},
	{"UNABLE TO CONNECT", whole, ActReopen, "no protocol found the car; switch the ignition on and check the plug"},
	{"BUS BUSY", whole, ActAgain, "the bus has no gap to send in"},
	{"BUS ERROR", whole, ActReopen, "invalid signal on the bus; check plug and wiring"},
	{"CAN ERROR", whole, ActReopen, "the bus does not acknowledge; is the ignition on?"},
	{"FB ERROR", whole, ActReopen, "the adapter's output does not read back; check plug and adapter"},
	{DataErrorMark, Suffix, ActDrop, "the adapter saw a damaged line"},
	{"DATA ERROR", whole, ActDrop, "the adapter saw a damaged reply"},
	{"<RX ERROR", Suffix, ActDrop, "the adapter saw a damaged frame"},
	{"BUFFER FULL", whole, ActAgain, "the adapter could not send fast enough and lost data"},
	{"STOPPED", whole, ActAgain, "the adapter was interrupted"},
	{"ACT ALERT", Suffix, ActAgain, "the adapter is about to sleep"},
	{"LP ALERT", Suffix, ActAgain, "the adapter is about to sleep"},
	{"LV RESET", whole, ActSetUp, "the adapter's supply dipped and it started again (usual while cranking)"},
	{"ERR", Prefix, ActSetUp, "internal error of the adapter"},
	{"ELM", Prefix, ActSetUp, "the adapter has started again"},
}

// DataErrorMark is what an adapter puts after a line that it saw damaged.
const DataErrorMark = "<DATA ERROR"

// StatusOf finds the status text on a line, already trimmed. rest is the data
// before or after it; of a damaged line it is to be dropped.
func StatusOf(line string) (st *Status, rest string) {
	for i := range Statuses {
		s := &Statuses[i]
		switch s.Place {
		case whole:
			if line == s.Text {
				return s, ""
			}
		case Prefix:
			if after, ok := strings.CutPrefix(line, s.Text); ok {
				if s.Action == ActSetUp {
					return s, ""
				}
				return s, strings.TrimSpace(after)
			}
		case Suffix:
			if before, ok := strings.CutSuffix(line, s.Text); ok {
				return s, before
			}
		}
	}
	return nil, line
}

// BusTrouble is what the adapter said of a bus or supply that suffers, in words; "" for
// nothing.
func BusTrouble(lines []string) string {
	for _, l := range lines {
		if st, _ := StatusOf(strings.TrimSpace(l)); st != nil && (st.Action == ActReopen || st.Action == ActSetUp) {
			return st.Text + ": " + st.Means
		}
	}
	return ""
}
