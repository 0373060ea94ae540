package recording

import (
	"strings"
	"testing"
	"time"

	"judder/obd"
)

// A cause comes back as it was written. One of a later version keeps its text. An old file, in
// which no line has a cause, says in words what is no loss.
func TestLinkCause(t *testing.T) {
	for _, c := range append(obd.Causes(), obd.CauseUnknown) {
		want := OfLink(obd.LinkChange{At: time.Second, State: obd.LinkClosed, Cause: c, Text: "as it was said"})
		line, err := encodeEntry(nil, &want)
		if err != nil {
			t.Fatal(err)
		}
		got := load(t, append([]byte(strings.Join(docLines(t)[:1], "")), append(line, '\n')...))
		if len(got.Entries) != 1 || got.Entries[0].Link != want.Link {
			t.Errorf("cause %q: %+v", c, got.Entries)
		}
	}
	for line, want := range map[string]obd.Cause{
		`{"k":"link","t":1,"s":"closed","c":"of a later version","text":"session ended"`:                    obd.CauseUnknown,
		`{"k":"link","t":1,"s":"closed","text":"session ended; the car stopped answering"`:                  obd.CauseEnded,
		`{"k":"link","t":1,"s":"opening","text":"asked what was asked for; setting up for the drive again"`: obd.CauseCheckOver,
		`{"k":"link","t":1,"s":"opening","text":"opening /dev/ttyUSB0"`:                                     obd.CauseOpening,
		`{"k":"link","t":1,"s":"adapter","text":"adapter found on /dev/ttyUSB0 (simulated)"`:                obd.CauseAdapterFound,
		`{"k":"link","t":1,"s":"closed","text":"lost /dev/ttyUSB0; trying it again"`:                        obd.CauseUnknown,
		`{"k":"link","t":1,"s":"closed"`:                                                                    obd.CauseUnknown,
	} {
		var l parsedLine
		if err := slowParse([]byte(line+"}"), &l); err != nil || l.entry.Link.Cause != want {
			t.Errorf("%s: cause %q, %v", line, l.entry.Link.Cause, err)
		}
	}
	var l parsedLine
	if err := slowParse([]byte(`{"k":"link","t":1,"s":"closed","c":7}`), &l); err == nil {
		t.Error("a cause that is no text is taken")
	}
}
