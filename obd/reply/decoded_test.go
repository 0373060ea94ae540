package reply

import (
	"fmt"
	"math/rand/v2"
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/judder-obd/judder/obd"
)

// Negative codes and "wait" by ISO 14229-1; lines by ISO 15765-2 and the ELM327 data sheet.
func TestDecode_Outcome(t *testing.T) {
	const can, bare = obd.FormCAN11, obd.FormBare
	for _, c := range []struct {
		name    string
		form    obd.Form
		request string
		lines   string
		want    Outcome
		code    byte
	}{
		{"a command of the adapter", can, "ATI", "ELM327 v1.5", OutcomeNotAsked, 0},
		{"a late reply behind such a command", can, "ATRV", "7E8 04 41 0C 1A F8", OutcomeNotAsked, 0},
		{"nothing asked", can, "", "7E8 04 41 0C 1A F8", OutcomeNotAsked, 0},
		{"no line", can, "010C", "", OutcomeSilent, 0},
		{"nobody answers", can, "010C", "NO DATA", OutcomeSilent, 0},
		{"a reply to something else", can, "010C", "7E8 03 41 0D 33", OutcomeSilent, 0},
		{"half a line", can, "010C", "7E8 04 41 0C 1A", OutcomeDamaged, 0},
		{"no header and no reply", can, "010C", "1A F8", OutcomeDamaged, 0},
		{"a first frame alone", can, "0902", "7E8 10 14 49 02 01 31 44 34", OutcomeDamaged, 0},
		{"half a line and a whole one", can, "010C", "7E9 04 41 0C 1A|7E8 04 41 0C 1A F8", OutcomeAnswered, 0},
		{"refused", can, "010C", "7E8 03 7F 01 12", OutcomeRefused, 0x12},
		{"refused by two", can, "010C", "7E8 03 7F 01 12|7E9 03 7F 01 11", OutcomeRefused, 0x12},
		{"refused by one", can, "010C", "7E8 03 7F 01 12|7E9 04 41 0C 1A F8", OutcomeAnswered, 0},
		{"refused, and a line damaged", can, "010C", "7E9 04 41 0C|7E8 03 7F 01 31", OutcomeRefused, 0x31},
		{"wait", can, "010C", "7E8 03 7F 01 78", OutcomeWaits, 0},
		{"wait, then the answer", can, "010C", "7E8 03 7F 01 78|7E8 04 41 0C 1A F8", OutcomeAnswered, 0},
		{"wait, then refused", can, "010C", "7E8 03 7F 01 78|7E8 03 7F 01 22", OutcomeRefused, 0x22},
		{"wait, another refuses", can, "010C", "7E8 03 7F 01 78|7E9 03 7F 01 12", OutcomeWaits, 0},
		{"another refuses, wait", can, "010C", "7E9 03 7F 01 12|7E8 03 7F 01 78", OutcomeWaits, 0},
		{"wait twice", can, "010C", "7E8 03 7F 01 78|7E8 03 7F 01 78", OutcomeWaits, 0},
		{"answered differently, with names", can, "010D", "7E8 03 41 0D 33|7E9 03 41 0D 34", OutcomeAnswered, 0},
		{"answered differently, without", bare, "010D", "41 0D 33|41 0D 34", OutcomeMixed, 0},
		{"three without names, the last differs", bare, "010D", "41 0D 33|41 0D 33|41 0D 34", OutcomeMixed, 0},
		{"answered alike, without names", bare, "010D", "41 0D 33|41 0D 33", OutcomeAnswered, 0},
		{"without names, one refuses", bare, "010D", "41 0D 33|7F 01 12", OutcomeAnswered, 0},
		{"mixed, then one refuses", bare, "010D", "41 0D 33|41 0D 34|7F 01 12", OutcomeMixed, 0},
	} {
		var d Decoder
		var lines []string
		if c.lines != "" {
			lines = strings.Split(c.lines, "|")
		}
		x := exchangeOf(time.Minute, c.form, c.request, lines...)
		got := d.Decode(&x)
		if got.Outcome != c.want || got.Code != c.code || got.Lines != len(lines) {
			t.Errorf("%s: outcome %d, code %02X, %d lines; want %d, %02X", c.name, got.Outcome, got.Code, got.Lines, c.want, c.code)
		}
		if answered := c.want == OutcomeAnswered || c.want == OutcomeMixed; got.Answered() != answered {
			t.Errorf("%s: answered %v", c.name, got.Answered())
		}
	}
}

// A reply to an earlier request makes no outcome of this one.
func TestDecode_OutcomeOfLateReplies(t *testing.T) {
	var d Decoder
	x := exchangeOf(0, obd.FormCAN11, "010C")
	d.Decode(&x)
	x = exchangeOf(time.Second, obd.FormCAN11, "0105", "7E8 04 41 0C 1A F8")
	if got := d.Decode(&x); got.Outcome != OutcomeSilent || len(got.Messages) != 1 || !got.Messages[0].Late || len(got.Samples) != 1 {
		t.Errorf("%+v", got)
	}
	x = exchangeOf(2*time.Second, obd.FormCAN11, "0105", "7E8 03 7F 01 78", "7E8 04 41 0C 1A F8")
	if got := d.Decode(&x); got.Outcome != OutcomeWaits || !got.AnyWaits() {
		t.Errorf("%+v", got)
	}
}

// Where nobody knows whose a reply is, two that differ give no reading, be it by little, and take
// the rest of the exchange with them; two alike are read. The exchange before and the one behind
// do not count.
func TestDecoder_MixedReplies(t *testing.T) {
	var d Decoder
	for i, c := range []struct {
		request string
		lines   []string
		want    int
	}{
		{"010D", []string{"410D32", "410D33"}, 0},
		{"010D", []string{"410D32"}, 1},
		{"010D", []string{"410D32", "410D32"}, 2},
		{"010C0D", []string{"410C1AF80D32", "410D32"}, 0},
		{"0111", []string{"411133", "7F0112"}, 1},
		{"010D", []string{"411134", "410D32"}, 2}, // one of them late
		{"0100", []string{"410080000000", "410000100000"}, 0},
		{"010C", []string{"410C1AF8"}, 1},
	} {
		x := exchangeOf(time.Duration(i)*time.Second, obd.FormBare, c.request, c.lines...)
		if got := d.Decode(&x); len(got.Samples) != c.want || (c.want == 0) != (got.Outcome == OutcomeMixed) {
			t.Errorf("%q: %d readings, want %d; outcome %d", c.lines, len(got.Samples), c.want, got.Outcome)
		}
	}
}

// What is counted is of this exchange alone.
func TestDecode_Counts(t *testing.T) {
	var d Decoder
	x := exchangeOf(time.Second, obd.FormCAN11, "010C", "7E8 04 41 0C 1A", "junk", "7E8 03 41 0D 33", "7E8 03 41 0C 1A", "7E9 10 0A 41 04 3F 05 44 0B", "7E8 04 41 0C 1A F8 <DATA ERROR")
	for range 2 {
		got := d.Decode(&x)
		if got.Damaged != 3 || got.Nameless != 1 || got.Unasked != 2 || got.Misfits != 0 || !got.Unfinished || !slices.Equal(got.PartsOnly, []string{"7E9"}) {
			t.Errorf("%+v", got)
		}
		d = Decoder{}
	}
	for range 2 { // on top of what was counted before
		d.Decode(&x)
		y := exchangeOf(time.Second, obd.FormCAN11, "010C", "junk", "7E8 03 41 0D 33")
		if got := d.Decode(&y); got.Damaged != 1 || got.Nameless != 1 || got.Unasked != 1 {
			t.Errorf("%+v", got)
		}
	}
	d = Decoder{}
	x = exchangeOf(time.Second, obd.FormCAN11, "010C", "7E8 04 41 0C 1A F8", "BUFFER FULL", "7E9 04 41 0C 1A F8")
	if got := d.Decode(&x); got.Damaged != 1 || got.Nameless != 0 || len(got.Messages) != 1 {
		t.Errorf("the adapter ran out of room: %+v", got)
	}
	d = Decoder{}
	x = exchangeOf(2*time.Second, obd.FormCAN11, "22F40C", "7E8 04 62 F4 0C 1A")
	if got := d.Decode(&x); got.Damaged != 0 || got.Misfits != 1 || len(got.Messages) != 1 || len(got.Samples) != 0 {
		t.Errorf("one byte too few: %+v", got)
	}
	x = exchangeOf(3*time.Second, obd.FormCAN11, "010C", "7E8 04 41 0C 1A F8")
	if got := d.Decode(&x); got.Damaged+got.Nameless+got.Misfits+got.Unasked+len(got.PartsOnly) != 0 || got.Unfinished || got.WholeLines() != 1 {
		t.Errorf("afterwards %+v", got)
	}
}

func TestDecoded_WholeLines(t *testing.T) {
	for lines, want := range map[string]int{
		"7E8 04 41 0C 1A F8":                          1,
		"7E8 04 41 0C 1A F8|7E9 04 41 0C 1A F8":       2,
		"7E8 04 41 0C 1A F8|NO DATA":                  0,
		"7E8 04 41 0C 1A F8|7E9 03 7F 01 12":          0,
		"7E8 03 7F 01 12":                             0,
		"7E8 10 08 41 0C 1A F8 0C 1A|7E8 21 F8 0C 00": 0,
	} {
		var d Decoder
		x := exchangeOf(0, obd.FormCAN11, "010C", strings.Split(lines, "|")...)
		if got := d.Decode(&x).WholeLines(); got != want {
			t.Errorf("%q: %d, want %d", lines, got, want)
		}
	}
}

// partsOf reads a message's bytes again from where its parts say that they are.
func partsOf(t *testing.T, x *obd.Exchange, m *Message) []byte {
	t.Helper()
	data := make([]byte, len(m.Data))
	for _, p := range m.Parts {
		text := strings.ReplaceAll(x.Lines[p.Line].Text[p.Start:], " ", "")
		for i := p.From; i < p.To; i++ {
			var b byte
			if _, err := fmt.Sscanf(text[2*(i-p.From):], "%02X", &b); err != nil {
				t.Fatalf("%q: part %+v: %v", x.Lines[p.Line].Text, p, err)
			}
			data[i] = b
		}
	}
	return data
}

// Every byte of a message is found where its parts say, however the line is laid out.
func TestMessage_Parts(t *testing.T) {
	r := rand.New(rand.NewPCG(1, 1))
	for _, c := range dialogues {
		if c.want == nil {
			continue
		}
		for range 20 {
			lines := slices.Clone(c.lines)
			for i := range lines {
				if r.IntN(2) == 0 {
					lines[i] = strings.ReplaceAll(lines[i], " ", "")
				}
				lines[i] = strings.Repeat(" ", r.IntN(3)) + lines[i] + strings.Repeat("\t", r.IntN(2))
			}
			var d Decoder
			x := exchangeOf(0, c.form, c.request, lines...)
			for _, m := range d.Decode(&x).Messages {
				if got := partsOf(t, &x, &m); !m.Whole() || string(got) != string(m.Data) {
					t.Errorf("%s: %q: % X, by its parts % X", c.source, lines, m.Data, got)
				}
			}
		}
	}
	for _, c := range goodReplies {
		var d Decoder
		x := exchangeOf(0, c.form, c.request, c.line)
		m := d.Decode(&x).Messages[0]
		if got := partsOf(t, &x, &m); !m.Whole() || string(got) != string(m.Data) {
			t.Errorf("%q: by its parts % X", c.line, got)
		}
	}
	var d Decoder
	x := exchangeOf(0, obd.FormCAN11, "010C", "SEARCHING...", "SEARCHING... 41 0C 1A F8") // headers lost
	m := d.Decode(&x).Messages[0]
	if got := partsOf(t, &x, &m); !m.Bare || m.Parts[0].Line != 1 || string(got) != string(m.Data) {
		t.Errorf("%+v: % X", m, got)
	}
}

// The length line of a reply without headers is one of its lines and holds no byte.
func TestMessage_PartsOfLengthLine(t *testing.T) {
	var d Decoder
	x := exchangeOf(0, obd.FormBare, "0104050B0C", "00A", "0: 41 04 3F 05 44 0B", "1: 21 0C 17 B8 00 00 00")
	m := d.Decode(&x).Messages[0]
	want := []Part{{0, 0, 0, 0}, {1, 3, 0, 6}, {2, 3, 6, 10}}
	if !slices.Equal(m.Parts, want) {
		t.Errorf("%+v, want %+v", m.Parts, want)
	}
}

// A reply that began in an earlier exchange names the lines of this one alone; what a broken
// reply left behind does not stay.
func TestMessage_PartsOfEarlierExchange(t *testing.T) {
	var d Decoder
	x := exchangeOf(0, obd.FormCAN11, "0902", "7E8 10 14 49 02 01 31 44 34", "7E8 21 47 50 30 30 52 35 35")
	d.Decode(&x)
	x = exchangeOf(time.Second, obd.FormCAN11, "010C", "7E8 22 42 31 32 33 34 35 36")
	m := d.Decode(&x).Messages[0]
	if want := []Part{{0, 7, 13, 20}}; m.Whole() || !slices.Equal(m.Parts, want) || len(m.Data) != 20 {
		t.Errorf("%+v, want %+v", m.Parts, want)
	}
	x = exchangeOf(2*time.Second, obd.FormCAN11, "0902",
		"7E8 10 14 49 02 01 31 44 34", "7E8 30 00 00", "7E8 22 42 31 32 33 34 35 36", // out of sequence
		"7E8 10 14 49 02 01 31 44 34", // cut off by the next
		"7E8 10 0A 49 02 01 31 44 34", "7E8 21 35 36 37 38 AA AA AA", "7E8 04 41 0C 1A F8 AA AA AA")
	got := d.Decode(&x).Messages
	if want := []Part{{4, 10, 0, 6}, {5, 7, 6, 10}}; len(got) != 2 || !slices.Equal(got[0].Parts, want) {
		t.Fatalf("%+v, want %+v", got, want)
	}
	if want := []Part{{6, 7, 0, 4}}; !slices.Equal(got[1].Parts, want) {
		t.Errorf("%+v, want %+v", got[1].Parts, want)
	}
}

// A whole reply to a request that a drive repeats needs nothing more than the prompt.
func TestLacksPrompt(t *testing.T) {
	for _, c := range []struct {
		request string
		lines   string
		want    bool
	}{
		{"010C", "7E8 04 41 0C 1A F8", true},
		{"22F40C", "7E8 05 62 F4 0C 1A F8", true},
		{"010C", "NO DATA", true},
		{"010C", "", false},
		{"010C", "SEARCHING...", false},
		{"010C", "7E8 03 7F 01 78", false}, // the adapter waits as well
		{"010C", "7E9 04 41 0C 1A F8|7E8 03 7F 01 78", false},
		{"0902", "7E8 10 14 49 02 01 31 44 34", false}, // more may come of a list
		{"ATI", "ELM327 v1.5", false},
	} {
		var lines []string
		if c.lines != "" {
			lines = strings.Split(c.lines, "|")
		}
		x := exchangeOf(time.Second, obd.FormCAN11, c.request, lines...)
		if got := LacksPrompt(&x); got != c.want {
			t.Errorf("%s, %q: %v", c.request, c.lines, got)
		}
		if len(lines) > 0 {
			x.Sent = x.Lines[0].At
		}
		if got := LacksPrompt(&x); got != c.want {
			t.Errorf("%s, %q at once: %v", c.request, c.lines, got)
		}
		if x.Sent += time.Second; LacksPrompt(&x) {
			t.Errorf("%s, %q: all was there before the request", c.request, c.lines)
		}
	}
}
