package recording

import (
	"encoding/json"
	"reflect"
	"strings"
	"testing"
	"time"

	"github.com/judder-obd/judder/obd"
	"github.com/judder-obd/judder/pids"
)

// sampleBodies are lines that the fast parser takes, without their checksum.
func sampleBodies(t *testing.T) (bodies []string) {
	t.Helper()
	for _, e := range []Entry{
		OfExchange(obd.Exchange{Sent: time.Second, Request: "010C\x00\"\\\xe9", Done: 2 * time.Second, Form: obd.FormCAN11,
			Lines: []obd.Line{{At: time.Second, Text: "7E8\x7f\xff04"}, {At: 1500 * time.Millisecond, Text: "41\x80\xbf\xc0"}}}),
		OfReading(pids.Sample{At: time.Second, ECU: "7E8", Signal: pids.RPM, Value: -1726.25e-30}),
	} {
		line, err := encodeEntry(nil, &e)
		if err != nil {
			t.Fatal(err)
		}
		body, err := unseal(line[:len(line)-1])
		if err != nil {
			t.Fatal(err)
		}
		bodies = append(bodies, string(body))
	}
	return bodies
}

// The fast parser decides nothing that the slow one would decide otherwise: where it takes a line,
// both read the same; the slow one is held to encoding/json. Lines are cut, changed and swapped at
// each place.
func TestFastParser_AgreesWithTheSlowOne(t *testing.T) {
	p := fastParser{strings: newInterner()}
	taken, given := 0, 0
	try := func(body string) {
		var fast Entry
		given++
		if !p.parse([]byte(body), &fast) {
			return
		}
		taken++
		var slow parsedLine
		if err := slowParse([]byte(body+"}"), &slow); err != nil || !reflect.DeepEqual(noNaN(fast), noNaN(slow.entry)) {
			t.Fatalf("%q: the fast parser reads %+v, the slow one %+v, %v", body, fast, slow.entry, err)
		}
	}
	for _, body := range sampleBodies(t) {
		if e := (Entry{}); !p.parse([]byte(body), &e) {
			t.Fatalf("not taken: %s", body)
		}
		for n := range len(body) + 1 {
			try(body[:n])
			for _, c := range []string{"0", "9", ":", "/", "-", "+", ".", "e", "E", `"`, `\`, `\"`, `\\`, `\u0041`, `\u00ff`, `\u0100`, ",", "[", "]", " ", "null", "\x7f", "\x1f", "é", "ÿ", "Ā"} {
				try(body[:n] + c + body[n:])
				if n < len(body) {
					try(body[:n] + c + body[n+1:])
				}
			}
		}
	}
	for _, micros := range []string{"0", "-0", "00", "9223372036854775", "9223372036854776", "-9223372036854775", "99999999999999999", "100000000000000000", "1.0", ""} {
		try(`{"k":"r","t":` + micros + `,"ecu":"","signal":"RPM","v":1`)
	}
	for _, v := range []string{"0", "-0", "01", "1e308", "1e309", "5e-324", "null", "nul", "nulls", "1.", ".1", "1e", "1e+", "-", "1E-5", "0.0"} {
		try(`{"k":"r","t":1,"ecu":"","signal":"RPM","v":` + v)
	}
	if taken < 100 || given < 2*taken {
		t.Errorf("%d of %d lines taken: little is compared", taken, given)
	}
}

// Entries that are read one after the other do not share their lines.
func TestFastParser_LinesOfItsOwn(t *testing.T) {
	p := fastParser{strings: newInterner()}
	body := sampleBodies(t)[0]
	for range 2 * linesRoom {
		var a, b Entry
		if !p.parse([]byte(body), &a) || p.parse([]byte(body+" "), &b) || !p.parse([]byte(body), &b) {
			t.Fatal("not taken, or taken with a space behind it")
		}
		a.Exchange.Lines = append(a.Exchange.Lines, obd.Line{Text: "more"})
		if len(b.Exchange.Lines) != 2 || strings.Contains(b.Exchange.Lines[0].Text, "more") {
			t.Fatalf("an entry's lines are another's: %+v", b)
		}
	}
}

// A byte that a line escapes, or writes as two, is one byte.
func TestFastParser_EachByte(t *testing.T) {
	p := fastParser{strings: newInterner()}
	for n := range 256 {
		for _, raw := range []string{string([]byte{byte(n)}), "a" + string([]byte{byte(n)}) + "b", strings.Repeat(string([]byte{byte(n)}), internLength+1)} {
			e := OfExchange(obd.Exchange{Request: raw})
			line, err := encodeEntry(nil, &e)
			if err != nil || !json.Valid(line[:len(line)-1]) {
				t.Fatalf("byte %#x: %s, %v", n, line, err)
			}
			body, _ := unseal(line[:len(line)-1])
			var got Entry
			if !p.parse(body, &got) || got.Exchange.Request != raw {
				t.Errorf("byte %#x: %s reads %q", n, body, got.Exchange.Request)
			}
		}
	}
}
