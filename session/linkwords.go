package session

import "strings"

// TryingAgain is what is said beside every cause of a lost link: nothing need be pressed.
const TryingAgain = "trying again by itself"

// linkWords puts into few words why the car is not read and what a person can do, from the text
// of a link that changed: a recording holds only that. The first row of which a part stands
// in the text counts. Causes take at most 32 cells and advice 56, so that both, with
// [TryingAgain] behind the cause, stand whole in the narrowest window.
var linkWords = []struct{ part, cause, todo string }{
	{"is gone from", "the adapter is gone", "plug it in; is it in range, has it power?"},
	{"this computer slept", "this computer slept", "the adapter is being set up again"},
	{"went silent while looking", "the adapter went silent", "is it plugged in firmly, has it power?"},
	{"another device is at this path", "another device has this port", "plug in the adapter that was used before"},
	{"in use by another program", "another program has the port", "close it, or pull the adapter out and in again"},
	{"permission denied", "the port may not be opened", "wait some seconds, or plug the adapter in again"},
	{"connection refused", "the connection is refused", "has another program the adapter? is its power on?"},
	{"host's name is not known", "the adapter's name is not known", "is this computer on the adapter's network?"},
	{"no route to the host", "no way to the adapter", "is this computer on the adapter's network?"},
	{"no answer in time", "the adapter does not answer", "is it in range, has it power? the right network?"},
	{"no such port", "the port is not there", "plug the adapter in again"},
	{"not a serial port", "the port is not there", "plug the adapter in again"},
	{"cannot open", "the port does not open", "pull the adapter out and in again"},
	{"went silent", "the adapter does not answer", "is it plugged in firmly, in range, with power?"},
	{"no longer answers", "the adapter does not answer", "is it plugged in firmly, in range, with power?"},
	{"does not answer: no prompt", "the adapter does not answer", "is it plugged in firmly, in range, with power?"},
	{"nothing answers", "the adapter does not answer", "is it plugged in firmly, in range, with power?"},
	{"takes no more commands", "the adapter takes no commands", "is it in range, has it power?"},
	{"not like an ELM327-style", "what answers is no adapter", "check --port and --baud"},
	{"shows no headers", "the adapter lost its settings", "they are being set again"},
	{"lost its settings", "the adapter lost its settings", "they are being set again"},
	{"answers now", "a further computer answers", "the adapter is being set up for it"},
	{"refuses what it took", "the adapter refuses its settings", "it is being set up again"},
	{"requests to the car hang", "requests to the car hang", "the adapter is being set up again"},
	{"nothing that makes sense", "replies make no sense", "the adapter is being set up again"},
	{"cannot ask the car", "the adapter cannot ask the car", "if it stays so, pull it out and in again"},
	{"form that cannot be read", "replies in an unknown form", "another adapter may help"},
	{"setting the adapter up again", "the adapter started afresh", "it is being set up again"},
	{"the car does not", "the car does not answer", "is the ignition on?"},
	{"stopped answering", "the car does not answer", "is the ignition on?"},
	{"adapter found on", "the adapter is back", "looking for the car"},
	{"asked what was asked for", "the check is over", "the adapter is being set up for the drive again"},
	{"reset by peer", "the adapter is gone", "plug it in; is it in range, has it power?"},
	{"broken pipe", "the adapter is gone", "plug it in; is it in range, has it power?"},
	{"timed out", "the adapter does not answer", "is it plugged in firmly, in range, with power?"},
	{"network is", "the connection broke", "is this computer on the adapter's network?"},
	{"input/output error", "the adapter is gone", "plug it in; is it in range, has it power?"},
	{"device not configured", "the adapter is gone", "plug it in; is it in range, has it power?"},
	{"no such device", "the adapter is gone", "plug it in; is it in range, has it power?"},
	{"closed", "the adapter is gone", "plug it in; is it in range, has it power?"},
}

// causeOf returns the words for a text, and "" for one that only tells that a port is being
// opened, which says nothing of why. A text of another version is told as it is.
func causeOf(text string) (cause, todo string) {
	if strings.HasPrefix(text, "opening ") {
		return "", ""
	}
	for _, w := range linkWords {
		if strings.Contains(text, w.part) {
			return w.cause, w.todo
		}
	}
	cause, todo, _ = strings.Cut(strings.TrimSpace(text), "; ")
	if strings.HasPrefix(todo, "trying ") {
		todo = ""
	}
	return cause, todo
}

// Words is why the car is not read, what to do, and that judder tries again by itself, in one
// line; "" while it is read or nothing is known.
func (l *Link) Words() string {
	if l.Cause == "" {
		return ""
	}
	text := l.Cause + ", " + TryingAgain
	if l.Todo != "" {
		text += "; " + l.Todo
	}
	return text
}
