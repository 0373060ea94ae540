package session

import "github.com/judder-obd/judder/obd"

// TryingAgain is shown beside every cause of a lost link: nobody need press anything.
const TryingAgain = "trying again by itself"

// LinkReason is why the car is not read; the zero value while it is read, or nothing is known.
type LinkReason struct {
	Cause obd.Cause
	Text  string // as recorded
}

// linkWords are the words for a cause, and what a person can do. Causes take at most 32 cells
// and advice 56, so that both, with [TryingAgain] behind the cause, fit the narrowest window.
var linkWords = map[obd.Cause]struct{ cause, todo string }{
	obd.CauseAdapterFound: {"the adapter is back", "looking for the car"},
	obd.CauseCarFound:     {"the car answers", "waiting for the first reading"},
	obd.CauseNoSpeed:      {"the car gives no engine speed", "shudder cannot be seen without it"},
	obd.CauseCheckOver:    {"the code check is over", "the adapter is being set up for the drive again"},

	obd.CauseNoPort:      {"the port is not there", "plug the adapter in again"},
	obd.CausePermission:  {"the port may not be opened", "wait some seconds, or plug the adapter in again"},
	obd.CauseBusy:        {"another program has the port", "close it, or pull the adapter out and in again"},
	obd.CauseNotSerial:   {"the port is not there", "plug the adapter in again"},
	obd.CausePortSpeed:   {"the port cannot do this speed", "check --baud against the adapter's papers"},
	obd.CauseAddress:     {"the address is not understood", "write it like tcp://192.168.0.10:35000"},
	obd.CauseNoHost:      {"the adapter's name is not known", "is this computer on the adapter's network?"},
	obd.CauseRefused:     {"the connection is refused", "does another program use the adapter? has it power?"},
	obd.CauseNoRoute:     {"no way to the adapter", "is this computer on the adapter's network?"},
	obd.CauseTimeout:     {"the adapter does not answer", "is it in range, has it power? the right network?"},
	obd.CauseGivenUp:     {"opening the port was given up", "start again"},
	obd.CauseOtherDevice: {"another device has this port", "plug in the adapter that was used before"},
	obd.CauseNotOpened:   {"the port does not open", "pull the adapter out and in again"},

	obd.CauseUnplugged:  {"the adapter is gone", "plug it in; is it in range, has it power?"},
	obd.CauseBroke:      {"the connection broke", "is the adapter plugged in firmly, in range, with power?"},
	obd.CauseStuck:      {"the adapter takes no commands", "is it in range, has it power?"},
	obd.CauseSilent:     {"the adapter does not answer", "is it plugged in firmly, in range, with power?"},
	obd.CauseNotAdapter: {"what answers is no adapter", "check --port and --baud"},
	obd.CauseSlept:      {"this computer slept", "the adapter is being set up again"},
	obd.CauseForgot:     {"the adapter lost its settings", "they are being set again"},
	obd.CauseRestarted:  {"the adapter restarted", "it is being set up again"},
	obd.CauseHangs:      {"requests to the car hang", "the adapter is being set up again"},
	obd.CauseRefuses:    {"the adapter refuses its settings", "it is being set up again"},
	obd.CauseCannotAsk:  {"the adapter cannot ask the car", "if it stays so, pull it out and in again"},
	obd.CauseLoses:      {"the adapter loses characters", "it is not safe; use another"},

	obd.CauseCarSilent:  {"the car does not answer", "is the ignition on?"},
	obd.CauseUnreadable: {"replies in an unknown form", "another adapter may help"},
	obd.CauseMixed:      {"readings would be mixed", "this adapter hides which unit answers; use another"},
	obd.CauseNonsense:   {"replies make no sense", "the adapter is being set up again"},
	obd.CauseFurtherECU: {"a further control unit answers", "the adapter is being set up for it"},
}

// isReason reports whether a cause explains why the car is not read.
func isReason(c obd.Cause) bool { return c != obd.CauseOpening && c != obd.CauseEnded }

// Words are the cause and what to do, in few words. A cause that this version does not know is
// shown by its recorded text, as it is.
func (r LinkReason) Words() (cause, todo string) {
	if w, ok := linkWords[r.Cause]; ok {
		return w.cause, w.todo
	}
	return r.Text, ""
}

// Words are why the car is not read, that judder tries again by itself, and what to do, in one
// line; "" while the car is read or nothing is known.
func (l *Link) Words() string {
	text, todo := l.Reason.Words()
	if text == "" {
		return ""
	}
	text += ", " + TryingAgain
	if todo != "" {
		text += "; " + todo
	}
	return text
}

// Words are the cause of a loss, in few words.
func (l *Loss) Words() string {
	if cause, _ := l.Reason.Words(); cause != "" {
		return cause
	}
	return "the link broke off"
}
