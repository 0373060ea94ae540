package recording

import (
	"bytes"
	"errors"
	"io"
	"io/fs"
	"os"
	"path/filepath"
	"reflect"
	"strings"
	"testing"
	"testing/iotest"
	"time"

	"github.com/judder-obd/judder/obd"
)

const headerBody = `{"k":"header","format":"judder recording","version":1`

func TestOpen_Refuses(t *testing.T) {
	dir := t.TempDir()
	write := func(name, content string) string {
		path := filepath.Join(dir, name)
		if err := os.WriteFile(path, []byte(content), 0o600); err != nil {
			t.Fatal(err)
		}
		return path
	}
	for _, c := range []struct {
		name, path string
		want       error
		says       string
	}{
		{"missing", filepath.Join(dir, "no", "such.jsonl"), fs.ErrNotExist, "check the name"},
		{"directory", dir, ErrFolder, "name the file in it"},
		{"device", os.DevNull, ErrNotFile, "ordinary file"},
		{"empty", write("empty", ""), ErrEmpty, "record again"},
		{"blank", write("blank", "\n \r\n"), ErrEmpty, "record again"},
		{"NUL bytes", write("nul", strings.Repeat("\x00", 9000)), ErrEmpty, "record again"},
		{"first byte only", write("brace", "{"), ErrEmpty, "record again"},
		{"foreign text", write("text", "time_s,signal,value\n0,RPM,800\n"), ErrNotRecording, "CSV"},
		{"one foreign line", write("word", "hello"), ErrNotRecording, "judder"},
		{"foreign JSON", write("json", "{\"k\":\"header\"}\n"), ErrNotRecording, "judder"},
		{"other format", write("other", sealed(`{"k":"header","format":"other","version":1`)), ErrNotRecording, "judder"},
		{"version 0", write("v0", sealed(`{"k":"header","format":"judder recording","version":0`)), ErrNotRecording, "judder"},
		{"newer", write("v2", sealed(`{"k":"header","format":"judder recording","version":2`)), ErrNewer, "later"},
		{"newer, sealed otherwise", write("v3", `{"k":"header","format":"judder recording","version":3,"sha":"x"}`+"\n"), ErrNewer, "later"},
		{"huge foreign", write("huge", strings.Repeat("x", searchLimit+maxLine)), ErrNotRecording, "judder"},
		{"many foreign lines", write("many", strings.Repeat("some text\n", searchLimit/10+10)), ErrNotRecording, "judder"},
		{"bad name", filepath.Join(dir, "a\x1b[2Jb"), fs.ErrNotExist, "a [2Jb"},
	} {
		t.Run(c.name, func(t *testing.T) {
			r, err := Open(c.path)
			var fileErr *FileError
			if !errors.Is(err, c.want) || !errors.As(err, &fileErr) || r != nil {
				t.Fatalf("reader %v, error %v; want %v", r, err, c.want)
			}
			if !strings.Contains(err.Error(), c.says) || !strings.Contains(err.Error(), cleanText(c.path)) {
				t.Errorf("error says %q, want %q and the path in it", err, c.says)
			}
		})
	}
}

func TestOpen_NotAllowed(t *testing.T) {
	if os.Geteuid() == 0 {
		t.Skip("the superuser may read everything")
	}
	path := filepath.Join(t.TempDir(), "secret")
	if err := os.WriteFile(path, nil, 0); err != nil {
		t.Fatal(err)
	}
	if _, err := Open(path); !errors.Is(err, fs.ErrPermission) {
		t.Errorf("error %v, want permission", err)
	}
}

func TestLoad_FileOnDisk(t *testing.T) {
	path := filepath.Join(t.TempDir(), "drive.jsonl")
	if err := os.WriteFile(path, sampleFile(t), 0o600); err != nil {
		t.Fatal(err)
	}
	rec, err := Load(path)
	if err != nil || !reflect.DeepEqual(rec.Entries, truncated(sampleEntries())) {
		t.Errorf("error %v, entries %+v", err, rec.Entries)
	}
}

func TestReader_Damage(t *testing.T) {
	felt := func(t string) string { return sealed(`{"k":"felt","t":` + t) }
	end := func(n string) string {
		return sealed(`{"k":"end","entries":` + n + `,"exchanges":0,"duration_us":0,"why":"user ended"`)
	}
	header := sealed(headerBody)
	for _, c := range []struct {
		name, file string
		entries    int
		says       string
	}{
		{"sound", header + felt("1000000") + end("1"), 1, ""},
		{"no line feed at the end", strings.TrimSuffix(header+felt("1")+end("1"), "\n"), 1, ""},
		{"carriage returns", strings.ReplaceAll(header+felt("1")+end("1"), "\n", "\r\n"), 1, ""},
		{"byte order mark", "\ufeff" + header + felt("1") + end("1"), 1, ""},
		{"blank lines", header + "\n \n" + felt("1") + end("1"), 1, ""},
		{"header only", header, 0, "no end after 0.0 s: still being recorded, or broken off"},
		{"header lost", "x" + header + felt("1") + end("1"), 1,
			"the first line is damaged: start time, adapter and port are not known; " +
				"1 damaged line skipped (line 1, near 0.0 s: checksum wrong)"},
		{"header gone", felt("1") + end("1"), 1, "the first line is damaged: start time, adapter and port are not known"},
		{"rubbish before the header", "rubbish\n" + header + felt("1") + end("1"), 1,
			"1 damaged line skipped (line 1, near 0.0 s: no checksum)"},
		{"damaged line", header + felt("1000000") + "x" + felt("1500000") + felt("2000000") + end("3"), 2,
			"1 damaged line skipped (line 3, between 1.0 s and 2.0 s: checksum wrong); 1 of 3 entries missing (0 exchanges)"},
		{"two damaged lines, none after", header + felt("1000000") + "x\n{}\n" + end("3"), 1,
			"2 damaged lines skipped (line 3, near 1.0 s: no checksum; line 4, near 1.0 s: no checksum); 2 of 3 entries missing (0 exchanges)"},
		{"many damaged lines", header + strings.Repeat("x\n", 200) + end("0"), 0,
			"200 damaged lines skipped (line 2, near 0.0 s: no checksum; line 3, near 0.0 s: no checksum; line 4, near 0.0 s: no checksum; …)"},
		{"sealed, no JSON", header + sealed(`{"k":"felt" "t":1`) + end("0"), 0,
			"1 damaged line skipped (line 2, near 0.0 s: not valid JSON)"},
		{"sealed, no time", header + sealed(`{"k":"felt"`) + end("0"), 0,
			`1 damaged line skipped (line 2, near 0.0 s: not understood: field "t" is missing)`},
		{"line too long", header + strings.Repeat("x", maxLine) + "\n" + felt("5") + end("1"), 1,
			"1 damaged line skipped (line 2, near 0.0 s: line too long)"},
		{"out of order", header + felt("9000000") + felt("1000000") + felt("2000000") + end("3"), 3,
			"2 lines out of order, first at line 3"},
		{"out of order between kinds", header + felt("9000000") + sealed(`{"k":"note","t":7999999,"text":"x"`) + end("2"), 2,
			"1 line out of order, first at line 3"},
		{"a mark a little late", header + felt("9000000") + sealed(`{"k":"note","t":8000000,"text":"x"`) + end("2"), 2, ""},
		{"too many entries", header + felt("1") + felt("1") + end("1"), 2, "1 entry more than were written"},
		{"lines after the end", header + felt("1") + end("1") + felt("2") + end("9"), 2, "2 lines after the end record"},
		{"second recording", header + felt("1") + end("1") + header + felt("1") + end("1"), 1,
			"another recording begins at line 4 and was not read: split the file there"},
		{"second recording, first has no end", header + felt("1") + header, 1,
			"another recording begins at line 3 and was not read: split the file there"},
		{"newer header later on", header + sealed(`{"k":"header","format":"judder recording","version":2`) + end("0"), 0,
			"1 damaged line skipped (line 2, near 0.0 s: not understood)"},
		{"stopped", header + felt("2500000") +
			sealed(`{"k":"end","entries":1,"exchanges":0,"duration_us":2500000,"why":"disk full","broken":true`), 1,
			"recording stopped after 2.5 s, before the session ended: disk full"},
	} {
		t.Run(c.name, func(t *testing.T) {
			rec := load(t, []byte(c.file))
			if len(rec.Entries) != c.entries || rec.Damage.String() != c.says || rec.Damage.Any() != (c.says != "") {
				t.Errorf("%d entries, want %d; says\n%q, want\n%q", len(rec.Entries), c.entries, rec.Damage.String(), c.says)
			}
			if len(rec.Damage.Bad) > maxBadLines {
				t.Errorf("%d damaged lines kept", len(rec.Damage.Bad))
			}
		})
	}
}

// A later version may add fields and kinds; another program may write JSON in its own way.
func TestReader_OtherWriters(t *testing.T) {
	want := OfExchange(obd.Exchange{
		Sent: time.Second, Request: "01\xe9\x00", Done: 2 * time.Second, Form: obd.FormKLine,
		Lines: []obd.Line{{At: 1500 * time.Millisecond, Text: "OK"}},
	})
	for _, body := range []string{
		`{"k":"x","t":1000000,"q":"01é\u0000","r":[[1500000,"OK"]],"d":2000000,"e":"prompt","f":"kline"`,
		`{"k":"x","t":1000000,"q":"01\u00E9\u0000","r":[[1500000,"OK"]],"d":2000000,"e":"prompt","f":"kline","new":{"a":[1,null]}`,
		`{ "d" : 2000000, "r": [ [1500000, "\u004fK", "later"] ] , "q":"01é\u0000","e":"prompt", "f":"kline", "t":1000000, "T":9, "k":"x" `,
		"{\t\"f\":\"kline\",\"e\":\"prompt\",\"k\":\"x\",\"t\":1000000,\"q\":\"01é\\u0000\",\"r\":[[1500000,\"OK\"]],\"d\":2000000",
	} {
		rec := load(t, []byte(sealed(headerBody)+sealed(body)))
		if len(rec.Entries) != 1 || !reflect.DeepEqual(rec.Entries[0], want) {
			t.Errorf("%s\nread as %+v, %v", body, rec.Entries, rec.Damage.Words())
		}
	}
}

func TestReader_UnknownKindsArePassedOver(t *testing.T) {
	rec := load(t, []byte(sealed(headerBody)+sealed(`{"k":"gps","t":5,"lat":1`)+sealed(`{"k":"felt","t":6`)+
		sealed(`{"k":"end","entries":2,"exchanges":0,"duration_us":6,"why":""`)))
	if len(rec.Entries) != 1 || rec.Damage.Any() || rec.Damage.Unknown != 1 {
		t.Errorf("%+v", rec)
	}
}

func TestSlowParse_NotUnderstood(t *testing.T) {
	for _, body := range []string{
		`[]`, `{}`, `null`, `{"k":7}`, `{"k":null}`,
		`{"k":"felt","t":"1"}`, `{"k":"felt","t":1.5}`, `{"k":"felt","t":null}`, `{"k":"felt","T":1}`,
		`{"k":"felt","t":9223372036854776}`, `{"k":"felt","t":-9223372036854776}`, `{"k":"felt","t":1e400}`,
		`{"k":"felt","t":1,"text":7}`,
		`{"k":"link","t":1,"s":"afloat"}`,
		`{"k":"x","t":1,"q":"Ā","r":[],"d":1,"e":"prompt","f":"bare"}`,
		`{"k":"x","t":1,"q":"","r":[[1]],"d":1,"e":"prompt","f":"bare"}`,
		`{"k":"x","t":1,"q":"","r":[["1",""]],"d":1,"e":"prompt","f":"bare"}`,
		`{"k":"x","t":1,"q":"","r":[[1,"€"]],"d":1,"e":"prompt","f":"bare"}`,
		`{"k":"x","t":1,"q":"","r":7,"d":1,"e":"prompt","f":"bare"}`,
		`{"k":"x","t":1,"q":"","r":[],"d":1,"e":"tired","f":"bare"}`,
		`{"k":"x","t":1,"q":"","r":[],"d":1,"e":"prompt","f":"can99"}`,
		`{"k":"x","t":1,"q":"","r":[],"e":"prompt","f":"bare"}`,
		`{"k":"r","t":1,"signal":"RPM"}`, `{"k":"r","t":1,"v":1}`, `{"k":"r","t":1,"signal":"RPM","v":"1"}`,
		`{"k":"r","t":1,"signal":"RPM","v":1e999}`,
		`{"k":"end","entries":1,"exchanges":2,"duration_us":1}`, `{"k":"end","entries":-1,"exchanges":-2,"duration_us":1}`,
		`{"k":"end","entries":1,"exchanges":1,"duration_us":1,"broken":"yes"}`,
		`{"k":"header","format":"judder recording","version":1,"start":"yesterday"}`,
		`{"k":"header","format":"judder recording","version":1,"extra":[]}`,
		`{"k":"header","format":"judder recording"}`,
	} {
		before := parsedLine{kind: lineUnknown, entry: Felt(7)}
		got := before
		err := slowParse([]byte(body), &got)
		if !errors.Is(err, ErrNotUnderstood) && !errors.Is(err, ErrJSON) {
			t.Errorf("%s: error %v", body, err)
		}
		if !reflect.DeepEqual(got, before) {
			t.Errorf("%s: target touched: %+v", body, got)
		}
	}
}

func TestReader_ReadErrorComesBack(t *testing.T) {
	data := sampleFile(t)
	broken := io.MultiReader(bytes.NewReader(data[:len(data)/2]), iotest.ErrReader(io.ErrNoProgress))
	rec, err := LoadFrom(broken, "card.jsonl")
	if !errors.Is(err, io.ErrNoProgress) || !strings.Contains(err.Error(), "card.jsonl") {
		t.Fatalf("error %v", err)
	}
	if want, _, _ := wholeEntries(data, len(data)/2); len(rec.Entries) != want {
		t.Errorf("%d entries before the error, want %d", len(rec.Entries), want)
	}
	if _, err := NewReader(iotest.ErrReader(io.ErrNoProgress), "x"); !errors.Is(err, io.ErrNoProgress) {
		t.Errorf("error on opening: %v", err)
	}
}

// How the bytes come must not matter.
func TestReader_OneByteAtATime(t *testing.T) {
	data := sampleFile(t)
	rec, err := LoadFrom(iotest.OneByteReader(bytes.NewReader(data)), "slow")
	if err != nil || rec.Damage.Any() || !reflect.DeepEqual(rec.Entries, truncated(sampleEntries())) {
		t.Errorf("%v, %v", err, rec.Damage.Words())
	}
}

// Lines longer than the buffer and up to the limit are read whole.
func TestReader_LongestLine(t *testing.T) {
	fixed := len(sealed(`{"k":"x","t":0,"q":"","r":[],"d":0,"e":"prompt","f":"unknown"`))
	for _, n := range []int{64<<10 - fixed - 1, 64<<10 - fixed, 64<<10 - fixed + 1, maxLine - fixed} {
		e := OfExchange(obd.Exchange{Request: strings.Repeat("A", n)})
		line, err := encodeEntry(nil, &e)
		if err != nil {
			t.Fatal(err)
		}
		rec := load(t, append(headerLine(&Header{}), append(line, sealed(`{"k":"felt","t":1`)...)...))
		if len(rec.Entries) != 2 || rec.Entries[0].Exchange.Request != e.Exchange.Request || rec.Damage.BadLines > 0 {
			t.Errorf("request of %d: %d entries, %v", n, len(rec.Entries), rec.Damage.Words())
		}
	}
	e := OfExchange(obd.Exchange{Request: strings.Repeat("A", maxLine-fixed+1)})
	if _, err := encodeEntry(nil, &e); !errors.Is(err, ErrTooLong) {
		t.Errorf("a line of more than the limit: %v", err)
	}
}

// Entries keep what they hold while the reader goes on.
func TestReader_EntriesStayValid(t *testing.T) {
	data := driveFile(t, 2000)
	rec := load(t, data)
	for i, e := range rec.Entries {
		if want := Truncate(OfExchange(driveExchange(i))); !reflect.DeepEqual(e, want) {
			t.Fatalf("entry %d is %+v, want %+v", i, e, want)
		}
	}
	lines := rec.Entries[0].Exchange.Lines
	_ = append(lines, obd.Line{Text: "mine"}) // must not reach the next entry
	if got := rec.Entries[1].Exchange.Lines[0].Text; got == "mine" {
		t.Error("entries share room for their lines")
	}
}

// FuzzReader seals each line that has no checksum, so that what the fuzzer finds gets past
// the checksum.
func FuzzReader(f *testing.F) {
	f.Add(headerBody+"\n"+`{"k":"felt","t":1`+"\n"+`{"k":"end","entries":1,"exchanges":0,"duration_us":1`, "\x00\x00")
	f.Add(headerBody+`,"extra":{"a":1}`+"\n"+`{ "k":"note","t":-1,"text":"\u001b"`, `{"k":"x"`)
	f.Add(`{"k":"x","t":1,"q":"","r":[[1,"A"]],"d":1,"e":"lost","f":"bare"`+"\n"+headerBody, `x,"crc":"00000000"}`)
	f.Add(headerBody+"\n"+`{"k":"r","t":1,"signal":"","v":null`+"\n"+`{"k":"link","t":1,"s":"car"`, "")
	f.Fuzz(func(t *testing.T, bodies, tail string) {
		var file []byte
		for body := range strings.SplitSeq(bodies, "\n") {
			file = append(file, sealed(body)...)
		}
		rec, err := LoadFrom(strings.NewReader(string(file)+tail), "fuzz")
		if err != nil {
			return
		}
		for _, e := range rec.Entries {
			if !reflect.DeepEqual(noNaN(Truncate(e)), noNaN(e)) {
				t.Fatalf("entry is not as Truncate leaves it: %+v", e)
			}
		}
		for _, w := range rec.Damage.Words() {
			if cleanText(w) != w {
				t.Fatalf("control character in %q", w)
			}
		}
	})
}

// noNaN makes entries comparable.
func noNaN(e Entry) Entry {
	if e.Reading.Value != e.Reading.Value {
		e.Reading.Value = 0
	}
	return e
}
