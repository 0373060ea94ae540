package obd

// Cause is why the link changed. Its code is what a recording keeps; the words for a person
// are made where they are shown.
type Cause uint8

// The causes. CauseUnknown is also that of a recording by an older or a newer version.
const (
	CauseUnknown Cause = iota

	// The way up, and its end.
	CauseOpening      // a port is being opened
	CauseAdapterFound // the adapter answers
	CauseCarFound     // the car answers
	CauseNoSpeed      // the car answers and gives no engine speed
	CauseCheckOver    // a code check is over, the adapter is set up for the drive again
	CauseEnded        // the session ended

	// The port does not open. The codes are those of the kinds of link.OpenError.
	CauseNoPort
	CausePermission
	CauseBusy
	CauseNotSerial
	CausePortSpeed
	CauseAddress
	CauseNoHost
	CauseRefused
	CauseNoRoute
	CauseTimeout
	CauseGivenUp
	CauseOtherDevice // another device is at the path of the adapter
	CauseNotOpened   // for another reason

	// The adapter.
	CauseUnplugged  // the far end of the link left
	CauseBroke      // the link broke in another way
	CauseStuck      // the adapter takes no more bytes
	CauseSilent     // the adapter does not answer
	CauseNotAdapter // what answers is no adapter
	CauseSlept      // this computer slept
	CauseForgot     // the adapter lost its settings and did not report it
	CauseRestarted  // the adapter started again, or reported that it needs its settings
	CauseHangs      // requests to the car get no prompt
	CauseRefuses    // the adapter refuses settings that it took before
	CauseCannotAsk  // the adapter reports that it cannot ask the car
	CauseLoses      // the adapter loses characters of commands

	// The car.
	CauseCarSilent  // the car does not answer
	CauseMixed      // several ECUs answer, and the adapter does not show which
	CauseUnreadable // something answers in a form that cannot be read
	CauseNonsense   // replies make no sense
	CauseFurtherECU // an ECU answers that did not answer at set-up

	causeCount
)

// causeCodes are the codes of the causes. They are kept in recordings: a code never changes
// and is never used again for something else.
var causeCodes = [causeCount]string{
	CauseUnknown: "",
	CauseOpening: "opening", CauseAdapterFound: "adapter-found", CauseCarFound: "car-found", CauseNoSpeed: "no-engine-speed",
	CauseCheckOver: "check-over", CauseEnded: "ended",
	CauseNoPort: "no-port", CausePermission: "no-permission", CauseBusy: "busy", CauseNotSerial: "not-serial",
	CausePortSpeed: "port-speed", CauseAddress: "bad-address", CauseNoHost: "no-host", CauseRefused: "refused",
	CauseNoRoute: "no-route", CauseTimeout: "timeout", CauseGivenUp: "given-up", CauseOtherDevice: "other-device",
	CauseNotOpened: "not-opened",
	CauseUnplugged: "unplugged", CauseBroke: "broke", CauseStuck: "stuck", CauseSilent: "silent", CauseNotAdapter: "not-adapter",
	CauseSlept: "slept", CauseForgot: "lost-settings", CauseRestarted: "restarted", CauseHangs: "hangs",
	CauseRefuses: "refuses-settings", CauseCannotAsk: "cannot-ask",
	CauseLoses:     "loses-characters",
	CauseCarSilent: "car-silent", CauseMixed: "mixed", CauseUnreadable: "unreadable", CauseNonsense: "nonsense", CauseFurtherECU: "further-ecu",
}

// String is the code of a cause; "" for CauseUnknown and for a value that is no cause.
func (c Cause) String() string {
	if c < causeCount {
		return causeCodes[c]
	}
	return ""
}

// Causes are all causes, without CauseUnknown.
func Causes() (all []Cause) {
	for c := CauseUnknown + 1; c < causeCount; c++ {
		all = append(all, c)
	}
	return all
}

// CauseByCode is the cause with this code; CauseUnknown when there is none.
func CauseByCode(code string) Cause {
	for c, known := range causeCodes {
		if known == code {
			return Cause(c)
		}
	}
	return CauseUnknown
}
