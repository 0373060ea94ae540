package reply

import (
	"fmt"
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/judder-obd/judder/obd"
	"github.com/judder-obd/judder/pids"
	"github.com/judder-obd/judder/pids/vehicle"
)

// exchangeOf is an exchange as a car would have it, its lines 20 ms after the request.
func exchangeOf(sent time.Duration, form obd.Form, request string, lines ...string) obd.Exchange {
	x := obd.Exchange{Sent: sent, Request: request, Form: form, Done: sent + 25*time.Millisecond}
	for _, l := range lines {
		x.Lines = append(x.Lines, obd.Line{At: sent + 20*time.Millisecond, Text: l})
	}
	return x
}

// messages are the replies in words: sender, then the bytes.
func messages(d *Decoder, x obd.Exchange) (out []string) {
	for _, m := range d.Decode(&x).Messages {
		out = append(out, strings.TrimSpace(fmt.Sprintf("%s % X", m.ECU, m.Data)))
	}
	return out
}

// readings are the samples in words.
func readings(d *Decoder, x obd.Exchange) (out []string) {
	for _, s := range d.Decode(&x).Samples {
		out = append(out, strings.TrimSpace(fmt.Sprintf("%s %s %.2f", s.ECU, s.Signal, s.Value)))
	}
	return out
}

// Published replies, whole.
var dialogues = []struct {
	source  string
	form    obd.Form
	request string
	lines   []string
	want    []string // messages
}{
	{"car-PC forum, raw trouble code reply; layout ISO 15031-5", obd.FormBare, "03",
		[]string{"00A", "0: 43 04 01 02 01 13", "1: 01 23 02 22 00 00 00"},
		[]string{"43 04 01 02 01 13 01 23 02 22"}},
	{"ISO 15031-5, 29 bits; second frame composed here", obd.FormCAN29, "03",
		[]string{"18DAF110100A4304203F0426", "18DAF1102101330171000000"},
		[]string{"18DAF110 43 04 20 3F 04 26 01 33 01 71"}},
	{"ELM327 data sheet p. 42", obd.FormBare, "0902",
		[]string{"014", "0: 49 02 01 31 44 34", "1: 47 50 30 30 52 35 35", "2: 42 31 32 33 34 35 36"},
		[]string{"49 02 01 31 44 34 47 50 30 30 52 35 35 42 31 32 33 34 35 36"}},
	{"ELM329 data sheet p. 39: two ECUs at once; the last byte 31 lies beyond the length", obd.FormCAN11, "0904",
		[]string{"7E8 10 13 49 04 01 35 36 30", "7E9 10 13 49 04 01 35 36 30", "7E8 21 32 38 39 34 39 41 43",
			"7E8 22 00 00 00 00 00 00 31", "7E9 21 32 38 39 35 34 41 43", "7E9 22 00 00 00 00 00 00 00"},
		[]string{"7E8 49 04 01 35 36 30 32 38 39 34 39 41 43 00 00 00 00 00 00",
			"7E9 49 04 01 35 36 30 32 38 39 35 34 41 43 00 00 00 00 00 00"}},
	{"ELM327 data sheet p. 45", obd.FormBare, "0104050B0C",
		[]string{"00A", "0: 41 04 3F 05 44 0B", "1: 21 0C 17 B8 00 00 00"},
		[]string{"41 04 3F 05 44 0B 21 0C 17 B8"}},
	{"ISO 14229-1, service not supported", obd.FormCAN11, "010C", []string{"7E8 03 7F 01 12"}, []string{"7E8 7F 01 12"}},
	{"ISO 14229-1, response pending, then the reply", obd.FormCAN11, "22F190",
		[]string{"7E8 03 7F 22 78", "7E8 05 62 F1 90 31 32"}, []string{"7E8 7F 22 78", "7E8 62 F1 90 31 32"}},
	{"ELM327 data sheet p. 40", obd.FormBare, "22116B", []string{"62 11 6B 00 00"}, []string{"62 11 6B 00 00"}},
	{"ELM329 data sheet p. 80", obd.FormBare, "0100", []string{"SEARCHING...", "41 00 BE 3E B8 11"}, []string{"41 00 BE 3E B8 11"}},
	{"the same in one line, common practice", obd.FormBare, "0100", []string{"SEARCHING...41 00 BE 3E B8 11"}, []string{"41 00 BE 3E B8 11"}},
	{"ELM327 data sheet p. 14", obd.FormBare, "010C", []string{"41 0C 1A F8 <DATA ERROR"}, nil},
	{"part 1 is missing (rule from memory)", obd.FormBare, "0902",
		[]string{"014", "0: 49 02 01 31 44 34", "2: 42 31 32 33 34 35 36"}, nil},
	{"frame 21 is missing, ISO 15765-2", obd.FormCAN11, "0902",
		[]string{"7E8 10 14 49 02 01 31 44 34", "7E8 22 42 31 32 33 34 35 36"}, nil},
	{"the adapter has started again, common practice", obd.FormCAN11, "010C", []string{"ELM327 v1.5"}, nil},
	{"echo that stays on", obd.FormCAN11, "010C", []string{"010C", "7E8 04 41 0C 1A F8"}, []string{"7E8 41 0C 1A F8"}},
	{"line before BUFFER FULL is cut somewhere, ELM327 data sheet p. 87", obd.FormCAN11, "010C",
		[]string{"7E8 04 41 0C 1A F8", "BUFFER FULL"}, nil},
}

func TestDecoder_PublishedReplies(t *testing.T) {
	for _, c := range dialogues {
		var d Decoder
		if got := messages(&d, exchangeOf(time.Second, c.form, c.request, c.lines...)); !slices.Equal(got, c.want) {
			t.Errorf("%s: %q\n got %q\nwant %q", c.source, c.lines, got, c.want)
		}
		if c.want != nil {
			continue
		}
		// and it recovers: the next reply is taken whole
		next := exchangeOf(2*time.Second, c.form, "0104", map[obd.Form]string{obd.FormBare: "41 04 3F", obd.FormCAN11: "7E8 03 41 04 3F"}[c.form])
		if got := readings(&d, next); len(got) != 1 || !strings.HasSuffix(got[0], "24.71") {
			t.Errorf("after %s: %q", c.source, got)
		}
	}
}

func TestDecoder_Negative(t *testing.T) {
	var d Decoder
	x := exchangeOf(0, obd.FormCAN11, "010C", "7E8 03 7F 01 12", "7E9 04 41 0C 1A F8")
	m := d.Decode(&x).Messages
	if code, yes := m[0].Negative(); !yes || code != 0x12 { // ISO 14229-1: sub-function not supported
		t.Errorf("code %02X, negative %v", code, yes)
	}
	if _, yes := m[1].Negative(); yes {
		t.Error("a reading taken for a refusal")
	}
}

// Values by SAE J1979, computed here, unless another source stands beside.
func TestDecoder_PublishedReadings(t *testing.T) {
	for _, c := range []struct {
		source  string
		form    obd.Form
		request string
		lines   []string
		want    []string
	}{
		{"ELM327 data sheet p. 45", obd.FormBare, "0104050B0C", []string{"00A", "0: 41 04 3F 05 44 0B", "1: 21 0C 17 B8 00 00 00"},
			[]string{"LOAD_PCT 24.71", "ECT 28.00", "MAP 33.00", "RPM 1518.00"}},
		{"ELM327 data sheet p. 45, other order", obd.FormBare, "010B040C05", []string{"00A", "0: 41 0B 21 04 3F 0C", "1: 17 B8 05 44 00 00 00"},
			[]string{"MAP 33.00", "LOAD_PCT 24.71", "RPM 1518.00", "ECT 28.00"}},
		{"ISO 9141-2", obd.FormKLine, "010C", []string{"48 6B 10 41 0C 1A F8 22"}, []string{"10 RPM 1726.00"}},
		{"ISO 14230", obd.FormKLine, "010C", []string{"84 F1 10 41 0C 1A F8 E4"}, []string{"10 RPM 1726.00"}},
		{"SAE J1850", obd.FormJ1850, "010C", []string{"48 6B 10 41 0C 1A F8 B2"}, []string{"10 RPM 1726.00"}},
		{"padded", obd.FormCAN11, "010C", []string{"7E8 04 41 0C 1A F8 AA AA AA"}, []string{"7E8 RPM 1726.00"}},
		{"two ECUs, 1 km/h apart", obd.FormCAN11, "010D", []string{"7E8 03 41 0D 64", "7E9 03 41 0D 63"}, []string{"7E8 VSS 100.00", "7E9 VSS 99.00"}},
		{"engine stopped: 0 is data", obd.FormBare, "010C0D", []string{"41 0C 00 00 0D 00"}, []string{"RPM 0.00", "VSS 0.00"}},
		{"with the count digit", obd.FormCAN11, "010C0D1", []string{"7E8 06 41 0C 1A F8 0D 64"}, []string{"7E8 RPM 1726.00", "7E8 VSS 100.00"}},
		{"length does not fit what it claims to hold", obd.FormCAN11, "010C0D", []string{"7E8 05 41 0C 1A F8 0D"}, nil},
		{"one byte too few", obd.FormCAN11, "010C", []string{"7E8 03 41 0C 1A"}, nil},
		{"one byte too many", obd.FormCAN11, "010C", []string{"7E8 05 41 0C 1A F8 00"}, nil},
	} {
		var d Decoder
		if got := readings(&d, exchangeOf(0, c.form, c.request, c.lines...)); !slices.Equal(got, c.want) {
			t.Errorf("%s: %q\n got %q\nwant %q", c.source, c.lines, got, c.want)
		}
	}
}

// The time of a reading is that of the line which made its message whole.
func TestDecoder_TimeOfTheLastLine(t *testing.T) {
	var d Decoder
	x := exchangeOf(0, obd.FormBare, "0104050B0C", "00A", "0: 41 04 3F 05 44 0B", "1: 21 0C 17 B8 00 00 00")
	x.Lines[2].At = 77 * time.Millisecond
	for _, s := range d.Decode(&x).Samples {
		if s.At != 77*time.Millisecond {
			t.Errorf("%s at %v", s.Signal, s.At)
		}
	}
}

func TestDecoder_LateReplyGoesToItsOwnRequest(t *testing.T) {
	var d Decoder
	if got := readings(&d, exchangeOf(0, obd.FormCAN11, "010C")); got != nil {
		t.Fatal(got)
	}
	got := readings(&d, exchangeOf(200*time.Millisecond, obd.FormCAN11, "0111", "7E8 04 41 0C 1A F8", "7E8 03 41 11 33"))
	if want := []string{"7E8 RPM 1726.00", "7E8 TP 20.00"}; !slices.Equal(got, want) {
		t.Errorf("got %q, want %q", got, want)
	}
	if d.Counts.Late != 1 || d.Counts.Messages != 2 || d.Counts.Unasked != 0 {
		t.Errorf("%+v", d.Counts)
	}
	// later than the longest wait of the standards it answers nothing any more
	if got := readings(&d, exchangeOf(20*time.Second, obd.FormCAN11, "0111", "7E8 04 41 0C 1A F8")); got != nil {
		t.Errorf("too late, and yet %q", got)
	}
	if d.Counts.Unasked != 1 {
		t.Errorf("%+v", d.Counts)
	}
}

// What was there before a request went out answers an earlier one, though it is to the same
// parameter.
func TestDecoder_ThereBeforeTheRequest(t *testing.T) {
	var d Decoder
	at := func(ms int) time.Duration { return time.Duration(ms) * time.Millisecond }
	d.Decode(&obd.Exchange{Request: "010C", Sent: at(0), Form: obd.FormBare})
	x := obd.Exchange{Request: "010C", Sent: at(100), Form: obd.FormBare, Lines: []obd.Line{{At: at(90), Text: "410C0FA0"}, {At: at(110), Text: "410C1AF8"}}}
	if got := d.Decode(&x).Messages; len(got) != 2 || !got[0].Late || got[1].Late {
		t.Errorf("%+v", got)
	}
}

func TestDecoder_Unasked(t *testing.T) {
	for _, line := range []string{
		"7E8 04 41 0F 7B 00", "7E8 03 41 0D 64", "7E8 03 7F 22 11", "7E8 02 43 00", "7E8 05 62 11 6B 00 00", "7E8 06 49 0A 01 45 43 4D",
	} {
		var d Decoder
		if got := messages(&d, exchangeOf(0, obd.FormCAN11, "010C", line)); got != nil || d.Counts.Unasked != 1 {
			t.Errorf("%q: %q, %+v", line, got, d.Counts)
		}
	}
}

// The adapter lost its settings and shows no header where one was expected: what answers the
// request to the letter is taken, without a sender; anything else is damaged.
func TestDecoder_HeadersOff(t *testing.T) {
	for line, want := range map[string][]string{
		"41 0C 1A F8 0D 64": {"RPM 1726.00", "VSS 100.00"},
		"410C1AF80D64":      {"RPM 1726.00", "VSS 100.00"},
		"41 0C 1A F8 0D":    nil,
		"41 0C 1A F8 0F 64": nil,
		"0C 1A F8 0D 64":    nil,
	} {
		for _, form := range []obd.Form{obd.FormCAN11, obd.FormCAN29, obd.FormKLine, obd.FormJ1850} {
			var d Decoder
			if got := readings(&d, exchangeOf(0, form, "010C0D", line)); !slices.Equal(got, want) {
				t.Errorf("form %d, %q: %q, want %q", form, line, got, want)
			} else if want == nil && d.Counts.Damaged != 1 {
				t.Errorf("form %d, %q: %+v", form, line, d.Counts)
			}
		}
	}
}

// A reply below the usual ids counts only from an ECU that was asked by name: else it is a
// damaged line (7E8 with one wrong digit).
func TestDecoder_LowReply(t *testing.T) {
	x := exchangeOf(0, obd.FormCAN11, "22F190", "608 04 62 F1 90 41", "6E8 04 62 F1 90 41")
	var d Decoder
	if got := d.Decode(&x).Messages; len(got) != 0 || d.Counts.Damaged != 2 {
		t.Errorf("%d replies, %+v", len(got), d.Counts)
	}
	d.Expect("608")
	if got := d.Decode(&x).Messages; len(got) != 1 || got[0].ECU != "608" || d.Counts.Damaged != 3 {
		t.Errorf("%v, %+v", got, d.Counts)
	}
	d = Decoder{}
	for _, command := range []string{"ATCRA", "ATCRA608", "ATCF6E8"} {
		d.Decode(&obd.Exchange{Request: command, Form: obd.FormCAN11})
	}
	if got := d.Decode(&x).Messages; len(got) != 2 {
		t.Errorf("where the adapter listens: %v, %+v", got, d.Counts)
	}
	p := Decoder{Profile: &vehicle.Profile{
		Modules:    []vehicle.Module{{Request: "600", Reply: "530"}},
		Parameters: []vehicle.Parameter{{Module: "600", Identifier: 0xF190}},
	}}
	x = exchangeOf(0, obd.FormCAN11, "22F190", "530 04 62 F1 90 41")
	if got := p.Decode(&x).Messages; len(got) != 1 || got[0].ECU != "530" {
		t.Errorf("by the profile: %v, %+v", got, p.Counts)
	}
}

// A header with a wrong digit makes up no ECU; one that was asleep is heard once it speaks.
func TestDecoder_UnknownECU(t *testing.T) {
	for _, c := range []struct {
		form obd.Form
		own  string
		odd  []string
	}{
		{obd.FormCAN11, "7E8", []string{"7EB", "7E0", "7E7", "7F8"}},
		{obd.FormCAN29, "18DAF110", []string{"18DAF11A", "18DAF100"}},
	} {
		d := Decoder{}
		d.Decode(&obd.Exchange{Request: "0100", Form: c.form, Lines: []obd.Line{{Text: c.own + "064100BE1FA813"}}})
		say := func(at time.Duration, who string) int {
			x := exchangeOf(at, c.form, "010C", who+"04410C1AF8")
			return len(d.Decode(&x).Samples)
		}
		for i, odd := range c.odd {
			at := time.Duration(1+10*i) * time.Second
			if say(at, c.own) != 1 {
				t.Errorf("%s is not read", c.own)
			}
			if n := say(at+100*time.Millisecond, odd); n != 0 {
				t.Errorf("one line of %s gave %d readings", odd, n)
			}
			read := 0
			for k := range 5 {
				read += say(at+time.Duration(2000+100*k)*time.Millisecond, odd)
			}
			if none := strings.HasPrefix(odd, "7E") && odd < "7E8"; (read == 0) != none {
				t.Errorf("five lines of %s gave %d readings", odd, read)
			}
		}
	}
}

// Requests and replies in both ways (SAE J1979: 41 0C 1A F8 is 1726 rpm; SAE J1979-2: the
// same behind 62 F4).
func TestDecoder_Successor(t *testing.T) {
	var d Decoder
	for request, line := range map[string]string{"010C": "7E804410C1AF8AAAAAA", "22F40C": "7E80562F40C1AF8AAAA"} {
		x := exchangeOf(time.Second, obd.FormCAN11, request, line)
		got := d.Decode(&x).Samples
		if len(got) != 1 || got[0].Signal != pids.RPM || got[0].Value != 1726 || got[0].ECU != "7E8" {
			t.Errorf("%s: %+v", request, got)
		}
	}
	x := exchangeOf(2*time.Second, obd.FormCAN11, "22F40C", "7E80562F40D1AF8AAAA") // another identifier than asked
	if got := d.Decode(&x).Samples; len(got) != 0 {
		t.Errorf("taken for what was asked: %+v", got)
	}
	c := obd.Capabilities{Successor: true}
	if a, b := c.Parameters(0x0C), (&obd.Capabilities{}).Parameters(0x0C, 0x0D); a != "22F40C" || b != "010C0D" {
		t.Errorf("%s, %s", a, b)
	}
}
