package recording

import (
	"encoding/json"
	"fmt"
	"math"
	"time"

	"github.com/judder-obd/judder/obd"
	"github.com/judder-obd/judder/pids"
)

// parsedLine is what any kind of line holds; kind is which part is filled.
type parsedLine struct {
	kind   lineKind
	entry  Entry
	header Header
	older  bool // a header of a file in which a note may be a code check
	about  About
	end    End
}

type lineKind uint8

const (
	lineEntry lineKind = iota
	lineHeader
	lineAbout
	lineEnd
	lineUnknown // a kind that a later version may have added
)

// slowParse reads any line that is valid JSON: keys in any order, white space, fields
// that it does not know. The checksum is the caller's business. On error l is untouched.
func slowParse(text []byte, l *parsedLine) error {
	f := fields{}
	if err := json.Unmarshal(text, &f.m); err != nil {
		return ErrJSON
	}
	var got parsedLine
	kind := f.str("k")
	switch kind {
	case "header":
		got.kind, got.header, got.older = lineHeader, f.header(), f.older()
	case "about":
		got.kind, got.about = lineAbout, f.about()
	case "end":
		got.kind, got.end = lineEnd, f.end()
	default:
		i := indexOf(kindNames[:], []byte(kind))
		if i < 0 {
			got.kind = lineUnknown
			break
		}
		got.kind, got.entry = lineEntry, f.entry(Kind(i))
	}
	if f.err != nil {
		return f.err
	}
	*l = got
	return nil
}

// fields gives the fields of a line by exact name and keeps the first error.
type fields struct {
	m   map[string]json.RawMessage
	err error
}

func (f *fields) fail(key, what string) {
	if f.err == nil {
		f.err = fmt.Errorf("%w: field %q %s", ErrNotUnderstood, key, what)
	}
}

func (f *fields) has(key string) bool {
	raw, ok := f.m[key]
	return ok && string(raw) != "null"
}

// get decodes a field that must be there.
func (f *fields) get(key string, into any) {
	if !f.has(key) {
		f.fail(key, "is missing")
		return
	}
	if err := json.Unmarshal(f.m[key], into); err != nil {
		f.fail(key, "is of the wrong kind")
	}
}

func (f *fields) str(key string) (s string) {
	f.get(key, &s)
	return s
}

// text gives words that may be missing.
func (f *fields) text(key string) string {
	if !f.has(key) {
		return ""
	}
	return cleanText(f.str(key))
}

// raw gives the bytes of a Latin-1 string.
func (f *fields) raw(key string) string {
	s, ok := rawFromLatin1(f.str(key))
	if !ok {
		f.fail(key, "has a character above U+00FF")
	}
	return s
}

func (f *fields) micros(key string) time.Duration {
	var n int64
	f.get(key, &n)
	if n > maxMicros || n < -maxMicros {
		f.fail(key, "is out of range")
		return 0
	}
	return time.Duration(n) * time.Microsecond
}

func (f *fields) name(key string, names []string) int {
	i := indexOf(names, []byte(f.str(key)))
	if i < 0 {
		f.fail(key, "has a value that this version does not know")
		return 0
	}
	return i
}

func (f *fields) entry(kind Kind) Entry {
	at := f.micros("t")
	switch kind {
	case KindExchange:
		return OfExchange(obd.Exchange{
			Sent: at, Request: f.raw("q"), Lines: f.lines("r"), Done: f.micros("d"),
			Ending: obd.Ending(f.name("e", endingNames[:])), Form: obd.Form(f.name("f", formNames[:])),
		})
	case KindLink:
		c := obd.LinkChange{At: at, State: obd.LinkState(f.name("s", stateNames[:])), Text: f.text("text")}
		if f.has("c") {
			c.Cause = obd.CauseByCode(f.str("c"))
		} else {
			c.Cause = oldCause(c.Text)
		}
		return OfLink(c)
	case KindReading:
		return OfReading(pids.Sample{
			At: at, ECU: f.text("ecu"), Signal: pids.Signal(cleanText(f.str("signal"))), Value: f.value("v"),
		})
	case KindCheck:
		return OfCheck(at, Check{State: CheckState(f.name("s", checkNames[:])), Kept: f.text("kept")})
	case KindUndo:
		return Undo(at)
	case KindBlind:
		return Blind(at, f.name("s", blindNames[:]) == 1)
	case KindArm:
		return Arm(at, f.text("step"))
	default:
		return Entry{Kind: kind, At: at, Mark: Mark{Text: f.text("text")}}
	}
}

// lines gives reply lines: pairs of a time and a raw text.
func (f *fields) lines(key string) []obd.Line {
	var pairs [][]json.RawMessage
	f.get(key, &pairs)
	if len(pairs) == 0 {
		return nil
	}
	lines := make([]obd.Line, len(pairs))
	for i, pair := range pairs {
		if len(pair) < 2 {
			f.fail(key, "has a reply line without time or text")
			return nil
		}
		g := fields{m: map[string]json.RawMessage{"t": pair[0], "text": pair[1]}}
		lines[i] = obd.Line{At: g.micros("t"), Text: g.raw("text")}
		if g.err != nil {
			f.fail(key, "has a reply line that is not [time, text]")
			return nil
		}
	}
	return lines
}

// value gives a number; null is NaN.
func (f *fields) value(key string) (v float64) {
	if string(f.m[key]) == "null" {
		return math.NaN()
	}
	f.get(key, &v)
	return v
}
