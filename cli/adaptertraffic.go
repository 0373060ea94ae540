package cli

import (
	"fmt"

	"github.com/judder-obd/judder/obd/inquiry"
)

// hearings are the outcomes of listening to the bus: the code in JSON, and the sentence, in which %s
// is what was heard.
var hearings = map[inquiry.Hearing]struct{ code, text string }{
	inquiry.HearsTraffic:   {"traffic", "%s"},
	inquiry.HearsNothing:   {"quiet", "this socket shows no traffic beyond diagnostics; a gateway may filter it"},
	inquiry.NotOnCAN:       {"not CAN", "not listened to: this car is not on CAN"},
	inquiry.HidesIDs:       {"no ids", "not listened to: this adapter hides the ids of frames"},
	inquiry.NotFixed:       {"protocol not fixed", "not listened to: the protocol could not be fixed, or the car did not answer by it; the adapter might search, and so transmit"},
	inquiry.NoCommands:     {"no commands", "this adapter cannot listen: it does not know AT MA, AT CM or AT CF"},
	inquiry.OnlySaysOK:     {"says OK", "this adapter says OK to listening (AT MA) and shows nothing"},
	inquiry.IgnoresFilters: {"ignores filters", "this adapter ignores its filters (AT CM, AT CF); heard all the same: %s"},
	inquiry.Overflows:      {"overflows", "this adapter's buffer is full in every part of the bus (BUFFER FULL); heard until then: %s"},
	inquiry.Unproved:       {"unproved", "heard, and then not: an id that was there did not pass its own filter, or the car went quiet"},
	inquiry.StopsLate:      {"stops late", "this adapter stops listening too late: its prompt takes more than 300 ms"},
	inquiry.LostListening:  {"lost", "this adapter left or restarted while it listened"},
}

// trafficText is what the socket shows of the bus, in words; "" where it was not looked at.
func trafficText(b *inquiry.BusTraffic) string {
	text := hearings[b.Hearing].text
	switch b.Hearing {
	case inquiry.HearsTraffic, inquiry.IgnoresFilters, inquiry.Overflows:
		text = fmt.Sprintf(text, heardText(b))
	case inquiry.HearsNothing:
		if b.EngineStood {
			text += ". The engine is stopped, and some cars are quiet then: try again with the engine running"
		}
	}
	return text
}

// heardText is what was heard.
func heardText(b *inquiry.BusTraffic) string {
	if b.IDs == 0 {
		return "nothing"
	}
	text := fmt.Sprintf("%d ids and %.0f frames per second beyond diagnostics", b.IDs, b.PerSecond)
	if b.Cut {
		text = "at least " + text
	}
	if b.Hearing == inquiry.Overflows {
		return text // too little to say how often an id comes
	}
	return fmt.Sprintf("%s; ids above %d per second: %d", text, inquiry.FastEnough, b.Fast)
}

// trafficMeans is what the answer is for.
const trafficMeans = "for information: judder does not use it yet"

// trafficJSON is the same for machines.
type trafficJSON struct {
	Outcome     string   `json:"outcome"`
	IDs         *int     `json:"ids,omitempty"` // with the next two absent where no frame could be counted
	PerSecond   *float64 `json:"frames_per_second,omitempty"`
	Fast        *int     `json:"ids_above_15_per_second,omitempty"`
	Cut         bool     `json:"cut_short,omitempty"`
	EngineStood bool     `json:"engine_stopped,omitempty"`
}

func trafficFor(b *inquiry.BusTraffic) *trafficJSON {
	if b.Hearing == inquiry.NotListened {
		return nil
	}
	out := trafficJSON{Outcome: hearings[b.Hearing].code, Cut: b.Cut, EngineStood: b.EngineStood}
	switch b.Hearing {
	case inquiry.HearsTraffic, inquiry.HearsNothing, inquiry.IgnoresFilters, inquiry.Overflows:
		rate := tenth(b.PerSecond)
		out.IDs, out.PerSecond, out.Fast = &b.IDs, &rate, &b.Fast
	}
	return &out
}
