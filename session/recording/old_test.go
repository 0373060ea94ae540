package recording

import (
	"os"
	"reflect"
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/judder-obd/judder/obd"
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

// Notes of an older file begin and end a check. In a file with a revision, and where the header is
// damaged, they are notes.
func TestOldCheck(t *testing.T) {
	notes := map[string]Check{
		"standing check begins":                                {State: CheckBegun},
		"standing check over: kept in a.json":                  {State: CheckOver, Kept: "a.json"},
		"standing check over: disk full":                       {State: CheckOver},
		"standing check broke off, not whole: kept in b.json":  {State: CheckBroke, Kept: "b.json"},
		"standing check broke off, not whole: permission, sir": {State: CheckBroke},
	}
	const (
		older   = `{"k":"header","format":"judder recording","version":1`
		newer   = `{"k":"header","format":"judder recording","version":1,"revision":2`
		first   = `{"k":"header","format":"judder recording","version":1,"revision":1`
		later   = `{"k":"header","format":"judder recording","version":1,"revision":3`
		damaged = `{"k":"header","format":"judder recording","version":1,`
	)
	for text, want := range notes {
		for header, check := range map[string]bool{older: true, first: true, newer: false, later: false, damaged: false} {
			got := load(t, []byte(sealed(header)+sealed(`{"k":"note","t":1000,"text":"`+text+`"`))).Entries
			entry := Note(time.Millisecond, text)
			if check {
				entry = OfCheck(time.Millisecond, want)
			}
			if len(got) != 1 || !reflect.DeepEqual(got[0], entry) {
				t.Errorf("%s, note %q: %+v", header, text, got)
			}
		}
	}
	for _, text := range []string{"standing check begins now", "Standing check begins", "my standing check over: kept in a.json", ""} {
		got := load(t, []byte(sealed(older)+sealed(`{"k":"note","t":1000,"text":"`+text+`"`))).Entries
		if len(got) != 1 || got[0].Kind != KindNote {
			t.Errorf("the note %q of a user is %+v", text, got)
		}
	}
	got := load(t, []byte(sealed(older)+sealed(`{"k":"felt","t":1000,"text":"standing check begins"`))).Entries
	if len(got) != 1 || got[0].Kind != KindFelt {
		t.Errorf("a felt mark is %+v", got)
	}
}

// The documentation names every cause of a link change and every state of a check.
func TestDoc_NamesAllCodes(t *testing.T) {
	doc, err := os.ReadFile("doc.go")
	if err != nil {
		t.Fatal(err)
	}
	fields := strings.FieldsFunc(string(doc), func(r rune) bool { return r != '-' && (r < 'a' || r > 'z') })
	var codes []string
	for _, c := range obd.Causes() {
		codes = append(codes, c.String())
	}
	for _, code := range slices.Concat(codes, checkNames[:], kindNames[:], endingNames[:], stateNames[:]) {
		if !slices.Contains(fields, code) {
			t.Errorf("%q is not documented", code)
		}
	}
}
