package recording

import (
	"bytes"
	"errors"
	"os"
	"reflect"
	"strings"
	"testing"
)

// The check values of CRC-32C from RFC 3720 (iSCSI), appendix B.4, and the customary check
// string "123456789" of CRC catalogues.
func TestChecksum_PublishedValues(t *testing.T) {
	up := make([]byte, 32)
	down := make([]byte, 32)
	for i := range up {
		up[i], down[i] = byte(i), byte(31-i)
	}
	for _, c := range []struct {
		name string
		data []byte
		want string
	}{
		{"check string", []byte("123456789"), "e3069283"},
		{"32 zeros", make([]byte, 32), "8a9136aa"},
		{"32 ones", bytes.Repeat([]byte{0xff}, 32), "62a8ab43"},
		{"32 rising", up, "46dd794e"},
		{"32 falling", down, "113fdb5c"},
	} {
		line := seal(bytes.Clone(c.data))
		if got := string(line[len(c.data):]); got != `,"crc":"`+c.want+"\"}\n" {
			t.Errorf("%s: sealed with %q, want %s", c.name, got, c.want)
		}
		body, err := unseal(bytes.TrimSuffix(line, []byte("\n")))
		if err != nil || !bytes.Equal(body, c.data) {
			t.Errorf("%s: unsealed %x, %v", c.name, body, err)
		}
	}
}

// docLines are the lines of the package documentation, whose checksums were made with a
// bitwise CRC-32C in another language.
func docLines(t *testing.T) []string {
	t.Helper()
	doc, err := os.ReadFile("doc.go")
	if err != nil {
		t.Fatal(err)
	}
	var lines []string
	for l := range strings.Lines(string(doc)) {
		if l, ok := strings.CutPrefix(l, "//\t{"); ok && strings.Contains(l, `"crc"`) {
			lines = append(lines, "{"+l)
		}
	}
	return lines
}

func TestDoc_WholeFileIsSound(t *testing.T) {
	lines := docLines(t)
	if len(lines) != 9 {
		t.Fatalf("%d lines in the documentation, want 8 and one repeated", len(lines))
	}
	if lines[8] != lines[4] {
		t.Errorf("the worked line %q is not that of the file, %q", lines[8], lines[4])
	}
	rec := load(t, []byte(strings.Join(lines[:8], "")))
	if rec.Damage.Any() || rec.Damage.Unknown > 0 {
		t.Errorf("damage %v", rec.Damage.Words())
	}
	if rec.Header.Program != "judder 1.0" || rec.Header.Protocol != "ISO 15765-4 (CAN 11/500)" {
		t.Errorf("header %+v", rec.Header)
	}
	// Written again, it must be the same file: the documentation shows what Writer writes.
	var file memFile
	h := rec.Header
	h.Protocol = ""
	w, err := NewWriter(&file, "doc.jsonl", h)
	if err != nil {
		t.Fatal(err)
	}
	for i, e := range rec.Entries {
		if i == 1 {
			if err := w.About(About{At: 1_250_000_000, Protocol: rec.Header.Protocol}); err != nil {
				t.Fatal(err)
			}
		}
		if err := w.Append(e); err != nil {
			t.Fatal(err)
		}
	}
	if err := w.Close(rec.End.Why); err != nil {
		t.Fatal(err)
	}
	if got, want := string(file.bytes()), strings.Join(lines[:8], ""); got != want {
		t.Errorf("written again:\n%s\nwant:\n%s", got, want)
	}
}

func TestUnseal_Refuses(t *testing.T) {
	const good = `{"a":1,"crc":"` // any digits
	for _, c := range []struct {
		line string
		want error
	}{
		{``, ErrNoChecksum},
		{`}`, ErrNoChecksum},
		{`"}`, ErrNoChecksum},
		{`12345678"}`, ErrNoChecksum},
		{`{"a":1}`, ErrNoChecksum},
		{`{"crc":"00000000"}`, ErrNoChecksum}, // no comma: nothing is covered
		{good + `0000000"}`, ErrNoChecksum},
		{good + `000000000"}`, ErrNoChecksum},
		{good + `00000000"}}`, ErrNoChecksum},
		{good + `0000000G"}`, ErrNoChecksum},
		{good + `0000000A"}`, ErrNoChecksum}, // capitals
		{good + `00000000"}`, ErrChecksum},
		{`{"a":1 , "crc" : "00000000" } `, ErrChecksum},
	} {
		if body, err := unseal([]byte(c.line)); !errors.Is(err, c.want) || body != nil {
			t.Errorf("%s: %q, %v; want %v", c.line, body, err, c.want)
		}
	}
}

func TestUnseal_WhiteSpace(t *testing.T) {
	sealedLine := sealed(`{"a": 1`)
	digits := sealedLine[len(sealedLine)-11 : len(sealedLine)-3]
	for _, line := range []string{
		`{"a": 1,"crc":"` + digits + `"}`,
		`{"a": 1, "crc": "` + digits + `"}`,
		"{\"a\": 1,\t\"crc\" :\t\"" + digits + "\" } \t",
	} {
		if body, err := unseal([]byte(line)); err != nil || string(body) != `{"a": 1` {
			t.Errorf("%q: %q, %v", line, body, err)
		}
	}
}

// FuzzParsers holds that the fast parser decides nothing otherwise than encoding/json.
func FuzzParsers(f *testing.F) {
	for _, e := range sampleEntries() {
		line, err := encodeEntry(nil, &e)
		if err != nil {
			f.Fatal(err)
		}
		f.Add(string(line[:len(line)-sealLen-1]))
	}
	for _, body := range []string{
		`{"k":"x","t":-0,"q":"\u00e9é","r":[],"d":1,"e":"lost","f":"bare"`,
		`{"k":"r","t":1,"ecu":"","signal":"RPM","v":1e5`,
		`{"k":"r","t":1,"ecu":"","signal":"RPM","v":-0.5E-2`,
		`{"k":"r","t":01,"ecu":"","signal":"RPM","v":01`,
		`{"k":"x","t":9223372036854775,"q":"","r":[[9223372036854776,""]],"d":1,"e":"lost","f":"bare"`,
	} {
		f.Add(body)
	}
	f.Fuzz(func(t *testing.T, body string) {
		p := fastParser{strings: newInterner()}
		before := Felt(4711)
		fast := before
		if !p.parse([]byte(body), &fast) {
			if !reflect.DeepEqual(fast, before) {
				t.Fatalf("%q: entry touched on refusal: %+v", body, fast)
			}
			return
		}
		var slow parsedLine
		if err := slowParse([]byte(sealed(body)), &slow); err != nil {
			t.Fatalf("%q: fast parser takes it, encoding/json says %v", body, err)
		}
		if a, b := entryKey(t, fast), entryKey(t, slow.entry); a != b || slow.kind != lineEntry {
			t.Fatalf("%q:\nfast %s\nslow %s", body, a, b)
		}
	})
}

// The lines that make up nearly all of a file must not fall back to encoding/json.
func TestFastParser_TakesOwnLines(t *testing.T) {
	p := fastParser{strings: newInterner()}
	for _, e := range sampleEntries() {
		line, err := encodeEntry(nil, &e)
		if err != nil {
			t.Fatal(err)
		}
		body, err := unseal(line[:len(line)-1])
		if err != nil {
			t.Fatal(err)
		}
		var got Entry
		want := e.Kind == KindExchange || e.Kind == KindReading && e.Reading.Signal != "Öl"
		if p.parse(body, &got) != want {
			t.Errorf("fast parser taking %s: want %v", body, want)
		}
	}
}

func TestInterner_SameTextOnce(t *testing.T) {
	in := newInterner()
	text := []byte("010C0D1")
	in.get(text)
	if n := testing.AllocsPerRun(100, func() { in.get(text) }); n != 0 {
		t.Errorf("%v allocations for a text that is known", n)
	}
	long := bytes.Repeat([]byte("x"), internLength+1)
	if got := in.get(long); got != string(long) || in.get(nil) != "" {
		t.Errorf("got %q", got)
	}
}
