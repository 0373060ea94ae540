package recording

import (
	"bytes"
	"errors"
	"reflect"
	"strings"
	"testing"
	"time"
)

// wholeEntries counts the entries on lines that end, line feed or not, within n bytes.
func wholeEntries(data []byte, n int) (entries int, header, end bool) {
	offset := 0
	for line := range bytes.Lines(data) {
		offset += len(line)
		if offset-1 > n { // the line feed itself may be missing
			break
		}
		switch {
		case bytes.HasPrefix(line, []byte(`{"k":"header"`)):
			header = true
		case bytes.HasPrefix(line, []byte(`{"k":"end"`)):
			end = true
		case !bytes.HasPrefix(line, []byte(`{"k":"about"`)):
			entries++
		}
	}
	return entries, header, end
}

func TestReader_CutAtEveryByte(t *testing.T) {
	t.Parallel()
	data := sampleFile(t)
	want := truncated(sampleEntries())
	for n := range len(data) + 1 {
		entries, header, end := wholeEntries(data, n)
		rec, err := LoadFrom(bytes.NewReader(data[:n]), "cut.jsonl")
		if !header {
			if !errors.Is(err, ErrEmpty) {
				t.Fatalf("cut at %d: error %v, want ErrEmpty", n, err)
			}
			continue
		}
		if err != nil {
			t.Fatalf("cut at %d: %v", n, err)
		}
		if len(rec.Entries) != entries || entries > 0 && !reflect.DeepEqual(rec.Entries, want[:entries]) {
			t.Fatalf("cut at %d: %d entries, want the first %d", n, len(rec.Entries), entries)
		}
		if rec.Damage.Ended != end || rec.Damage.Any() == end || rec.Damage.BadLines != 0 {
			t.Fatalf("cut at %d: damage %v", n, rec.Damage.Words())
		}
	}
}

// A power cut may leave a tail of NUL bytes where data had been promised.
func TestReader_NULTailAtEveryCut(t *testing.T) {
	t.Parallel()
	data := sampleFile(t)
	for n := range len(data) + 1 {
		entries, header, _ := wholeEntries(data, n)
		tail := append(bytes.Clone(data[:n]), make([]byte, 4096)...)
		rec, err := LoadFrom(bytes.NewReader(tail), "cut.jsonl")
		if !header {
			if !errors.Is(err, ErrEmpty) {
				t.Fatalf("cut at %d: error %v, want ErrEmpty", n, err)
			}
			continue
		}
		if err != nil || len(rec.Entries) != entries {
			t.Fatalf("cut at %d: %v, %+v", n, err, rec)
		}
		if rec.Damage.NULBytes != 4096 || rec.Damage.BadLines != 0 {
			t.Fatalf("cut at %d: damage %+v", n, rec.Damage)
		}
	}
}

func TestReader_LongNULTail(t *testing.T) {
	data := sampleFile(t)
	cut := bytes.LastIndex(data, []byte(`{"k":"end"`))
	tail := append(bytes.Clone(data[:cut+5]), make([]byte, 3*maxLine)...)
	rec := load(t, tail)
	if d := rec.Damage; d.NULBytes != 3*maxLine || d.TornBytes != 5 || d.BadLines != 0 {
		t.Errorf("damage %+v", d)
	}
	const want = "no end after 0.5 s: still being recorded, or broken off; the last line is torn (5 bytes, left out); " +
		"3145728 NUL bytes at the end, as a power cut leaves them"
	if got := rec.Damage.String(); got != want {
		t.Errorf("said %q\nwant %q", got, want)
	}
}

// Whatever byte changes, no entry that was not written comes back, and all whole lines do. A short
// run changes each byte in one of the ways, by turns.
func TestReader_FlipEveryByte(t *testing.T) {
	t.Parallel()
	data := sampleFile(t)
	lines := bytes.Count(data, []byte("\n"))
	written := map[string]bool{}
	for _, e := range sampleEntries() {
		written[entryKey(t, e)] = true
	}
	flips := []byte{0x01, 0x20, 0x80, 0xff}
	for way, flip := range flips {
		for n := range data {
			if testing.Short() && n%len(flips) != way {
				continue
			}
			changed := bytes.Clone(data)
			changed[n] ^= flip
			rec, err := LoadFrom(bytes.NewReader(changed), "flip.jsonl")
			if err != nil {
				t.Fatalf("byte %d ^ %#x: %v", n, flip, err)
			}
			for _, e := range rec.Entries {
				if !written[entryKey(t, e)] {
					t.Fatalf("byte %d ^ %#x: an entry that was never written: %+v", n, flip, e)
				}
			}
			if lost := len(sampleEntries()) - len(rec.Entries); lost > 2 { // a lost line feed costs two lines
				t.Fatalf("byte %d ^ %#x: %d of %d lines lost", n, flip, lost, lines)
			}
			if last := n == len(data)-1; !rec.Damage.Any() && !last && !isWhite(data[n], changed[n]) {
				t.Fatalf("byte %d, %q ^ %#x: no damage seen", n, data[n], flip)
			}
		}
	}
}

// isWhite reports a change from one kind of white space between lines to another.
func isWhite(a, b byte) bool { return a == '\n' && b == '\r' }

// entryKey is the line of an entry, which tells entries apart.
func entryKey(t *testing.T, e Entry) string {
	t.Helper()
	line, err := encodeEntry(nil, &e)
	if err != nil {
		t.Fatal(err)
	}
	return string(line)
}

// A file of one line fewer in the middle: nothing shows but the end record's counts.
func TestReader_LineTakenOut(t *testing.T) {
	data := sampleFile(t)
	lines := bytes.SplitAfter(data, []byte("\n"))
	for i, line := range lines {
		if !bytes.HasPrefix(line, []byte(`{"k":"x"`)) {
			continue
		}
		short := bytes.Join(append(append([][]byte{}, lines[:i]...), lines[i+1:]...), nil)
		d := load(t, short).Damage
		if d.Missing != 1 || d.MissingExchanges != 1 || d.String() != "1 of 27 entries missing (1 exchange)" {
			t.Errorf("line %d out: %+v %q", i+1, d, d.String())
		}
	}
}

func TestReader_EndedAbruptlySaysWhen(t *testing.T) {
	data := append(headerLine(&Header{}), sealed(`{"k":"felt","t":45000000`)...)
	if got := load(t, data).Damage; got.String() != "no end after 45 s: still being recorded, or broken off" || got.Last != 45*time.Second {
		t.Errorf("damage %+v says %q", got, got.String())
	}
	data = append(data, sealed(`{"k":"felt","t":754120000`)...)
	if got := load(t, data).Damage; !strings.Contains(got.String(), "after 12:34 min") {
		t.Errorf("damage says %q", got.String())
	}
}

// A lost block in the middle, as NUL bytes, costs the lines it touches and no others.
func TestReader_NULBlockInTheMiddle(t *testing.T) {
	data := driveFile(t, 200)
	const at, size = 4096, 4096
	clear(data[at : at+size])
	rec := load(t, data)
	before := bytes.Count(data[:at], []byte("\n")) - 1 // less the header
	after := bytes.Count(data[at+size:], []byte("\n")) - 2
	if len(rec.Entries) != before+after || rec.Damage.BadLines != 1 || rec.Damage.Missing != 200-before-after {
		t.Errorf("%d entries, want %d and %d; %v", len(rec.Entries), before, after, rec.Damage.Words())
	}
	bad := rec.Damage.Bad[0]
	if bad.Line != before+2 || bad.After != rec.Entries[before-1].At || bad.Before != rec.Entries[before].At {
		t.Errorf("damaged line %+v", bad)
	}
}

// A drive can be looked at while it is being recorded.
func TestLoad_WhileWriting(t *testing.T) {
	var file memFile
	w, err := NewWriter(&file, "x", Header{})
	if err != nil {
		t.Fatal(err)
	}
	for i, e := range sampleEntries() {
		if err := w.Append(e); err != nil {
			t.Fatal(err)
		}
		if rec := load(t, file.bytes()); len(rec.Entries) != i+1 || rec.Damage.Ended || rec.Damage.TornBytes > 0 {
			t.Fatalf("after %d: %d entries, %v", i+1, len(rec.Entries), rec.Damage.Words())
		}
	}
	if err := w.Close(WhyUser); err != nil {
		t.Fatal(err)
	}
}
