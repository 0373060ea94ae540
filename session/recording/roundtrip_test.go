package recording

import (
	"bytes"
	"encoding/json"
	"math"
	"reflect"
	"strings"
	"testing"
	"time"
	"unicode"
	"unicode/utf8"

	"github.com/judder-obd/judder/obd"
	"github.com/judder-obd/judder/pids"
)

func TestRoundTrip_EveryKind(t *testing.T) {
	data := sampleFile(t)
	rec := load(t, data)
	if want := truncated(sampleEntries()); !reflect.DeepEqual(rec.Entries, want) {
		for i := range want {
			if !reflect.DeepEqual(rec.Entries[i], want[i]) {
				t.Errorf("entry %d\n got %+v\nwant %+v", i, rec.Entries[i], want[i])
			}
		}
	}
	if rec.Damage.Any() {
		t.Errorf("damage in a sound file: %v", rec.Damage.Words())
	}
	wantHeader := sampleHeader
	wantHeader.Protocol = "ISO 9141-2"
	wantHeader.Extra = map[string]string{"tank": "full", "note": `"quoted" \`, "ecus": "2"}
	if !rec.Header.Start.Equal(wantHeader.Start) {
		t.Errorf("start %v, want %v", rec.Header.Start, wantHeader.Start)
	}
	rec.Header.Start = wantHeader.Start
	if !reflect.DeepEqual(rec.Header, wantHeader) {
		t.Errorf("header %+v, want %+v", rec.Header, wantHeader)
	}
	exchanges := 0
	for _, e := range rec.Entries {
		if e.Kind == KindExchange {
			exchanges++
		}
	}
	want := End{Entries: len(rec.Entries), Exchanges: exchanges, Duration: 500 * time.Millisecond, Why: WhyUser}
	if rec.End != want {
		t.Errorf("end %+v, want %+v", rec.End, want)
	}
}

// A file must be fit for any tool that reads text: valid UTF-8, no control characters but
// the line feed.
func TestWriter_FileIsCleanText(t *testing.T) {
	data := sampleFile(t)
	if !utf8.Valid(data) {
		t.Error("file is not valid UTF-8")
	}
	for i, r := range string(data) {
		if r != '\n' && unicode.IsControl(r) {
			t.Fatalf("control character %U at byte %d", r, i)
		}
	}
}

func TestRaw_EveryByteComesBack(t *testing.T) {
	quoted := appendRaw(nil, allBytes)
	p := fastParser{strings: newInterner()}
	c := cursor{b: quoted}
	if got := p.raw(&c); got != allBytes || c.bad || c.i != len(quoted) {
		t.Errorf("fast parser gave %q", got)
	}
	f := fields{m: map[string]json.RawMessage{"q": quoted}}
	if got := f.raw("q"); got != allBytes || f.err != nil {
		t.Errorf("encoding/json gave %q, %v", got, f.err)
	}
}

func TestTruncate_SameLineAsUntruncated(t *testing.T) {
	for _, e := range sampleEntries() {
		cut := Truncate(e)
		a, errA := encodeEntry(nil, &e)
		b, errB := encodeEntry(nil, &cut)
		if errA != nil || errB != nil || !bytes.Equal(a, b) {
			t.Errorf("lines differ:\n%s%s%v %v", a, b, errA, errB)
		}
		if again := Truncate(cut); !reflect.DeepEqual(again, cut) {
			t.Errorf("truncated twice gives %+v, once %+v", again, cut)
		}
	}
}

func TestTruncate_LeavesTheArgumentAlone(t *testing.T) {
	x := obd.Exchange{Sent: 1500, Done: 2999, Lines: []obd.Line{{At: 1999, Text: "OK"}}}
	cut := Truncate(OfExchange(x))
	if x.Lines[0].At != 1999 {
		t.Errorf("argument's line now at %d ns", x.Lines[0].At)
	}
	if cut.Exchange.Sent != 1000 || cut.Exchange.Lines[0].At != 1000 || cut.At != 2000 {
		t.Errorf("not cut to microseconds: %+v", cut)
	}
}

func TestTruncate_DropsOtherParts(t *testing.T) {
	e := Entry{Kind: KindLink, At: 99, Exchange: obd.Exchange{Request: "ATI"},
		Link: obd.LinkChange{At: 5 * time.Second, Text: "bell\a"}, Mark: Mark{Text: "x"}, Reading: pids.Sample{Value: 1}, Check: Check{Kept: "y"}}
	want := OfLink(obd.LinkChange{At: 5 * time.Second, Text: "bell "})
	if got := Truncate(e); !reflect.DeepEqual(got, want) {
		t.Errorf("got %+v, want %+v", got, want)
	}
}

func TestReading_NotFiniteIsNaN(t *testing.T) {
	for _, v := range []float64{math.NaN(), math.Inf(1), math.Inf(-1)} {
		e := OfReading(pids.Sample{At: time.Second, Signal: pids.RPM, Value: v})
		var file memFile
		w, err := NewWriter(&file, "x", Header{})
		if err != nil {
			t.Fatal(err)
		}
		if err := w.Append(e); err != nil {
			t.Fatal(err)
		}
		if err := w.Close(WhyUser); err != nil {
			t.Fatal(err)
		}
		got := load(t, file.bytes()).Entries[0].Reading.Value
		if live := Truncate(e).Reading.Value; !math.IsNaN(got) || !math.IsNaN(live) {
			t.Errorf("%g: replay %g, live %g, want NaN", v, got, live)
		}
	}
}

func TestHeader_ControlCharactersDoNotComeBack(t *testing.T) {
	line := sealed(
		`{"k":"header","format":"judder recording","version":1,"adapter":"a\u001b[2J","extra":{"x\u0007":"\u009b","n":7}`)
	h := load(t, []byte(line)).Header
	if h.Adapter != "a [2J" || h.Extra["x "] != " " || h.Extra["n"] != "7" {
		t.Errorf("header %+v", h)
	}
}

func FuzzRoundTrip(f *testing.F) {
	f.Add(uint8(0), int64(12345678), int64(13400000), "010C0D1", "7E80441 0C1AF8", "7E8", 1.5, uint8(1))
	f.Add(uint8(4), int64(-1), int64(0), allBytes, "\xff\x00\"\\", "\u2028é", math.Inf(1), uint8(9))
	f.Add(uint8(3), int64(math.MaxInt64), int64(math.MinInt64), "", "", "note\n", 1e300, uint8(0))
	f.Add(uint8(KindCheck), int64(5), int64(5), "", "", "C:\\d\x1b\".json", 0.0, uint8(2))
	f.Add(uint8(KindArm), int64(5), int64(5), "", "", "neutral-coast\n", 0.0, uint8(1))
	f.Add(uint8(KindBlind), int64(5), int64(5), "", "", "", 0.0, uint8(1))
	f.Add(uint8(KindLink), int64(5), int64(5), "", "", "session ended", 0.0, uint8(200))
	f.Fuzz(func(t *testing.T, kind uint8, t1, t2 int64, a, b, text string, v float64, code uint8) {
		e := Entry{
			Kind: Kind(kind % uint8(kindCount)), At: time.Duration(t1),
			Exchange: obd.Exchange{
				Sent: time.Duration(t1), Request: a, Done: time.Duration(t2),
				Lines:  []obd.Line{{At: time.Duration(t2), Text: b}, {At: time.Duration(t1), Text: a}},
				Ending: obd.Ending(int(code) % len(endingNames)), Form: obd.Form(int(code) % len(formNames)),
			},
			Link:    obd.LinkChange{At: time.Duration(t2), State: obd.LinkState(int(code) % len(stateNames)), Cause: obd.Cause(code), Text: text},
			Mark:    Mark{Text: text},
			Check:   Check{State: CheckState(code % uint8(checkStateCount)), Kept: text},
			Blind:   code%2 == 1,
			Arm:     text,
			Reading: pids.Sample{At: time.Duration(t1), ECU: a, Signal: pids.Signal(text), Value: v},
		}
		line, err := encodeEntry(nil, &e)
		if err != nil {
			return // too long
		}
		data := append(headerLine(&Header{}), line...)
		rec := load(t, data)
		want := Truncate(e)
		if len(rec.Entries) != 1 || rec.Damage.BadLines > 0 {
			t.Fatalf("%s\nread as %+v", line, rec)
		}
		got := rec.Entries[0]
		if math.IsNaN(want.Reading.Value) && math.IsNaN(got.Reading.Value) {
			want.Reading.Value, got.Reading.Value = 0, 0
		}
		if !reflect.DeepEqual(got, want) {
			t.Fatalf("%s\n got %+v\nwant %+v", line, got, want)
		}
		if strings.ContainsFunc(strings.TrimSuffix(string(line), "\n"), unicode.IsControl) {
			t.Fatalf("control character in %q", line)
		}
	})
}
