package pids

import "fmt"

// refusals are the negative response codes of ISO 14229-1 in plain words, with what follows.
var refusals = map[byte]string{
	0x10: "general reject: unknown, not \"nothing there\"",
	0x11: "it does not know this service",
	0x12: "it does not know this sub-function",
	0x13: "wrong length or format",
	0x14: "the answer would be too long; ask for less",
	0x21: "busy; ask again in a moment",
	0x22: "conditions not right (engine running, car moving, …)",
	0x24: "wrong sequence",
	0x25: "no answer from a network behind it",
	0x26: "a failure prevents it",
	0x31: "it does not have what was asked for",
	0x33: "locked: security access is needed, and judder does not unlock",
	0x34: "locked: authentication is needed, probably by a gateway",
	0x78: "it said \"wait\" and never answered",
	0x7E: "not in the present session",
	0x7F: "not readable in the default session",
	0x81: "engine speed too high",
	0x82: "engine speed too low",
	0x83: "the engine runs",
	0x84: "the engine does not run",
	0x92: "supply voltage too high",
	0x93: "supply voltage too low",
}

// RefusalText is a negative response code in plain words, with its number.
func RefusalText(code byte) string {
	if text := refusals[code]; text != "" {
		return fmt.Sprintf("%s (%02X)", text, code)
	}
	return fmt.Sprintf("code %02X", code)
}
