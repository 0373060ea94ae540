// Package refusal puts the negative response codes of ISO 14229-1 into words.
package refusal

import "fmt"

// row is a negative response code in plain words, and what to do.
type row struct{ text, do string }

// What to do, where it is the same for several codes.
const (
	askNoMore  = "do not ask it again"
	notUnlock  = "judder does not unlock"
	notReading = "no answer to a reading; ask again, and report it"
	setRight   = "put that right where the maker's procedure allows it, then ask again"
)

// refusals are the codes of ISO 14229-1. What to do is common practice, no source.
var refusals = map[byte]row{
	0x10: {"general reject", "take it as unknown, not as \"nothing there\""},
	0x11: {"it does not know this service", askNoMore},
	0x12: {"it does not know this sub-function", askNoMore},
	0x13: {"wrong length or format", "the adapter may have cut the request"},
	0x14: {"the answer would be too long", "ask for less at a time"},
	0x21: {"busy", "ask again in a moment, three times at most"},
	0x22: {"conditions not right", "check ignition and engine, stop the car, then ask again"},
	0x24: {"wrong sequence", notReading},
	0x25: {"no answer from a network behind it", "check the module behind it, its supply and its bus"},
	0x26: {"a failure prevents it", "read its trouble codes first"},
	0x31: {"it does not have what was asked for", askNoMore},
	0x33: {"locked: security access is needed", notUnlock},
	0x34: {"locked: authentication is needed, probably by a gateway", notUnlock},
	0x35: {"wrong key", notUnlock},
	0x36: {"too many wrong keys", notUnlock},
	0x37: {"locked for a while after a wrong key", notUnlock},
	0x70: {"transfer not accepted", notReading},
	0x71: {"transfer broken off", notReading},
	0x72: {"it could not write its memory", "read its trouble codes again to see what it kept"},
	0x73: {"transfer out of sequence", notReading},
	0x78: {"it asked to wait and never answered", "ask once more with a longer timeout"},
	0x7E: {"not in the present session", "judder opens no other"},
	0x7F: {"not readable in the default session", "judder opens no other"},
	0x81: {"engine speed too high", setRight},
	0x82: {"engine speed too low", setRight},
	0x83: {"the engine runs", setRight},
	0x84: {"the engine does not run", setRight},
	0x85: {"the engine has not run long enough", setRight},
	0x86: {"temperature too high", setRight},
	0x87: {"temperature too low", setRight},
	0x88: {"vehicle speed too high", setRight},
	0x89: {"vehicle speed too low", setRight},
	0x8A: {"throttle or pedal too far down", setRight},
	0x8B: {"throttle or pedal not far enough down", setRight},
	0x8C: {"transmission not in neutral", setRight},
	0x8D: {"transmission not in gear", setRight},
	0x8F: {"brake pedal not pressed", setRight},
	0x90: {"shift lever not in park", setRight},
	0x91: {"converter clutch locked", setRight},
	0x92: {"supply voltage too high", setRight},
	0x93: {"supply voltage too low", setRight},
}

// Text is a negative response code in plain words, what to do, and its number.
func Text(nrc byte) string {
	means, do := Parts(nrc)
	if do == "" {
		return means
	}
	return fmt.Sprintf("%s; %s (%02X)", means, do, nrc)
}

// Parts are a negative response code in plain words, and what to do; do is "" for a code that is not
// in the table.
func Parts(nrc byte) (means, do string) {
	if r, ok := refusals[nrc]; ok {
		return r.text, r.do
	}
	return fmt.Sprintf("code %02X", nrc), ""
}
