package recording

import (
	"bytes"
	"errors"
	"io"
	"strings"
	"testing"
	"time"

	"github.com/judder-obd/judder/obd"
)

// What just fits a limit is taken, and one more is not. Limits are those of doc.go.

// lineOf makes a line of exactly n bytes with its line feed out of texts of growing length.
func lineOf(t *testing.T, n int, with func(text string) []byte) string {
	t.Helper()
	text := strings.Repeat("A", n-len(with("A"))+1)
	if got := len(with(text)); got != n {
		t.Fatalf("a line of %d bytes, want %d", got, n)
	}
	return text
}

func TestLimits_Lines(t *testing.T) {
	header := lineOf(t, maxLine, func(s string) []byte { return headerLine(&Header{Adapter: s}) })
	about := lineOf(t, maxLine, func(s string) []byte { return appendAbout(nil, &About{Adapter: s}) })
	note := lineOf(t, maxLine, func(s string) []byte {
		e := Note(0, s)
		line, err := encodeEntry(nil, &e)
		if err != nil {
			t.Fatal(err)
		}
		return line
	})
	var file memFile
	w, err := NewWriter(&file, "x", Header{Adapter: header})
	if err != nil {
		t.Fatalf("a header of the longest line: %v", err)
	}
	if err := errors.Join(w.About(About{Adapter: about}), w.Append(Note(0, note))); err != nil {
		t.Errorf("the longest lines are refused: %v", err)
	}
	if err := w.About(About{Adapter: about + "A"}); !errors.Is(err, ErrTooLong) {
		t.Errorf("an about line that is too long: %v", err)
	}
	if err := w.Append(Note(0, note+"A")); !errors.Is(err, ErrTooLong) {
		t.Errorf("a note that is too long: %v", err)
	}
	if err := w.Close(WhyUser); err != nil {
		t.Fatal(err)
	}
	if rec := load(t, file.bytes()); rec.Damage.Any() || len(rec.Entries) != 1 || rec.Header.Adapter != about {
		t.Errorf("%d entries, %v", len(rec.Entries), rec.Damage.Words())
	}
	if w, err := NewWriter(&memFile{}, "x", Header{Adapter: header + "A"}); w != nil || !errors.Is(err, ErrTooLong) {
		t.Errorf("a header that is too long: %v", err)
	}
}

// A sound line is looked for in so much of a file with a damaged first line, and no further.
func TestLimits_Search(t *testing.T) {
	const line = "sixteen letters\n"
	filler := strings.Repeat(line, searchLimit/len(line))
	sound := sealed(`{"k":"felt","t":1000`)
	if _, err := LoadFrom(strings.NewReader(filler+sound), "x"); !errors.Is(err, ErrNotRecording) {
		t.Errorf("behind the limit: %v", err)
	}
	rec, err := LoadFrom(strings.NewReader(filler[len(line):]+sound), "x")
	if err != nil || len(rec.Entries) != 1 || !rec.Damage.HeaderLost {
		t.Errorf("the last line before the limit is not found: %v", err)
	}
}

// The first value behind the known ones has no name, and cannot be written.
func TestLimits_Names(t *testing.T) {
	for _, e := range []Entry{
		{Kind: kindCount},
		OfExchange(obd.Exchange{Ending: obd.Ending(len(endingNames))}), OfExchange(obd.Exchange{Form: obd.Form(len(formNames))}),
		OfLink(obd.LinkChange{State: obd.LinkState(len(stateNames))}), OfCheck(0, Check{State: checkStateCount}),
	} {
		if line, err := encodeEntry(nil, &e); !errors.Is(err, ErrNotUnderstood) || len(line) > 0 {
			t.Errorf("%+v: %q, %v", e, line, err)
		}
	}
	for k := range kindCount {
		if k.String() != kindNames[k] {
			t.Errorf("kind %d is called %s", k, k)
		}
	}
	if got := kindCount.String(); got != "unknown(9)" {
		t.Errorf("a kind that is not known is called %s", got)
	}
	// A check's state counts in a check alone.
	e := Entry{Kind: KindNote, Check: Check{State: checkStateCount}}
	if _, err := encodeEntry(nil, &e); err != nil {
		t.Errorf("a note: %v", err)
	}
}

// Three damaged lines are named one by one, and of more the first three.
func TestDamage_NamesFew(t *testing.T) {
	for bad, dots := range map[int]bool{1: false, 3: false, 4: true} {
		file := string(headerLine(&Header{})) + strings.Repeat("{damaged\n", bad) + sealed(`{"k":"felt","t":1000`)
		d := load(t, []byte(file)).Damage
		if said := d.String(); d.BadLines != bad || strings.Contains(said, "…") != dots || strings.Count(said, "near") != min(bad, 3) {
			t.Errorf("%d damaged lines: %s", bad, said)
		}
	}
}

// What is not known is not written, and reads as not known.
func TestHeader_Unknown(t *testing.T) {
	if line := headerLine(&Header{}); bytes.Contains(line, []byte("start")) {
		t.Errorf("%s", line)
	}
	for year, written := range map[int]bool{0: false, 1: false, 2: true, 9999: true, 10000: false} {
		h := Header{Start: time.Date(year, 7, 1, 0, 0, 0, 0, time.UTC)}
		if line := headerLine(&h); bytes.Contains(line, []byte("start")) != written {
			t.Errorf("year %d: %s", year, line)
		}
	}
	var h Header
	if h.add(&About{Adapter: "a"}); h.Extra != nil {
		t.Errorf("free fields out of nothing: %v", h.Extra)
	}
}

// The reading of a drive allocates for many lines at once, and keeps a text that comes again.
func TestFastParser_Allocates(t *testing.T) {
	body := []byte(sampleBodies(t)[0])
	least := 1000.0
	for range 3 { // two texts may want one place in an interner; its places are random
		p := fastParser{strings: newInterner()}
		var e Entry
		least = min(least, testing.AllocsPerRun(10*linesRoom, func() { p.parse(body, &e) }))
	}
	if least > 0 {
		t.Errorf("%v allocations an exchange", least)
	}
	texts := newInterner()
	longest := bytes.Repeat([]byte("A"), internLength)
	texts.get(longest)
	if n := testing.AllocsPerRun(100, func() { texts.get(longest) }); n > 0 {
		t.Errorf("%v allocations for a text of %d bytes that came before", n, len(longest))
	}
}

// A write that fails before its first byte leaves nothing to cut, and no blank line.
func TestWriter_FailsBetweenLines(t *testing.T) {
	line := sealed(`{"k":"felt","t":1000000`)
	header := len(headerLine(&Header{}))
	file := memFile{room: header + len(line), cause: io.ErrClosedPipe, noCut: true, onceOnly: true}
	w, err := NewWriter(&file, "x", Header{})
	if err != nil {
		t.Fatal(err)
	}
	if first, second := w.Append(Felt(time.Second)), w.Append(Felt(2*time.Second)); first != nil || second == nil {
		t.Fatalf("%v, then %v", first, second)
	}
	if err := w.Close(WhyUser); !errors.Is(err, io.ErrClosedPipe) {
		t.Errorf("Close says %v", err)
	}
	if data := file.bytes(); bytes.Contains(data, []byte("\n\n")) || bytes.Count(data, []byte("\n")) != 3 {
		t.Errorf("the file is\n%s", data)
	}
}
