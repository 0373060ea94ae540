package reply

import (
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/judder-obd/judder/obd"
)

// Good replies on every kind of bus, spaces and none, with zeros in them because a lost zero
// leaves a sum as it was. Sums and CRCs computed here.
var goodReplies = []struct {
	form    obd.Form
	request string
	line    string
}{
	{obd.FormCAN11, "010C", "7E8 04 41 0C 1A F8"},
	{obd.FormCAN11, "010C0D", "7E8 06 41 0C 00 00 0D 00"},
	{obd.FormCAN11, "010C0D", "7E8 06 41 0C 1A F8 0D 64 AA"},
	{obd.FormCAN29, "010C", "18 DA F1 10 04 41 0C 1A F8"},
	{obd.FormCAN29, "010C0D", "18 DA F1 10 06 41 0C 1A F8 0D 64 00"},
	{obd.FormKLine, "010C", "48 6B 10 41 0C 1A F8 22"},
	{obd.FormKLine, "010C", "48 6B 10 41 0C 00 00 10"},
	{obd.FormKLine, "010C", "84 F1 10 41 0C 1A F8 E4"},
	{obd.FormJ1850, "010C", "48 6B 10 41 0C 1A F8 B2"},
	{obd.FormBare, "010C", "41 0C 1A F8"},
	{obd.FormBare, "010C0D", "41 0C 00 00 0D 00"},
}

// eachReply runs a test on every good reply, as it is and without spaces, with what it gives
// when it is whole.
func eachReply(t *testing.T, test func(t *testing.T, form obd.Form, request, line string, whole []string)) {
	for _, r := range goodReplies {
		for _, line := range []string{r.line, strings.ReplaceAll(r.line, " ", "")} {
			t.Run(line, func(t *testing.T) {
				var d Decoder
				whole := readings(&d, exchangeOf(0, r.form, r.request, line))
				if len(whole) == 0 {
					t.Fatal("gives nothing even when whole")
				}
				test(t, r.form, r.request, line, whole)
			})
		}
	}
}

// used is a decoder that has seen the ECU's frames for a while, each as wide as this one.
func used(form obd.Form, request, line string) *Decoder {
	d := new(Decoder)
	for i := range 5 {
		d.Decode(&obd.Exchange{Sent: time.Duration(i) * time.Second, Request: request, Form: form,
			Lines: []obd.Line{{At: time.Duration(i) * time.Second, Text: line}}})
	}
	return d
}

func TestDecoder_EachCharacterLost(t *testing.T) {
	eachReply(t, func(t *testing.T, form obd.Form, request, line string, whole []string) {
		for i := range line {
			got := readings(used(form, request, line), exchangeOf(5*time.Second, form, request, line[:i]+line[i+1:]))
			if line[i] == ' ' {
				if !slices.Equal(got, whole) {
					t.Errorf("without the space at %d: %q", i, got)
				}
			} else if got != nil {
				t.Errorf("without character %d: %q", i, got)
			}
		}
	})
}

// Bytes lost whole, or the line cut off anywhere or begun too late: nothing comes of it.
func TestDecoder_EachByteLost(t *testing.T) {
	eachReply(t, func(t *testing.T, form obd.Form, request, line string, whole []string) {
		digits := strings.ReplaceAll(line, " ", "")
		for i := range digits {
			cuts := map[string]string{"cut off": digits[:i], "begun late": digits[i+1:]}
			if i+2 <= len(digits) {
				cuts["without a byte"] = digits[:i] + digits[i+2:]
			}
			for how, cut := range cuts {
				got := readings(used(form, request, line), exchangeOf(5*time.Second, form, request, cut))
				// A bare line has no length and no check: cut between two parameters, or a line
				// that lost just its header, it holds true readings still, and no others.
				bare := strings.HasPrefix(cut, "410") && len(cut)%2 == 0
				if got != nil && (!bare || !isPrefix(strip(got), strip(whole))) {
					t.Errorf("%s at %d: %q: %q", how, i, cut, got)
				}
			}
		}
	})
}

func isPrefix(part, whole []string) bool {
	return len(part) <= len(whole) && slices.Equal(part, whole[:len(part)])
}

// strip takes the senders off.
func strip(readings []string) []string {
	out := slices.Clone(readings)
	for i, r := range out {
		if f := strings.Fields(r); len(f) == 3 {
			out[i] = f[1] + " " + f[2]
		}
	}
	return out
}

func TestDecoder_EachCharacterNoHexDigit(t *testing.T) {
	eachReply(t, func(t *testing.T, form obd.Form, request, line string, _ []string) {
		for i := range line {
			for _, c := range "Gagz<>?:.\x00\x01\x1b\x7f\x80ÿ" {
				changed := line[:i] + string(c) + line[i+1:]
				if got := readings(used(form, request, line), exchangeOf(5*time.Second, form, request, changed)); got != nil {
					t.Errorf("%q: %q", changed, got)
				}
			}
		}
	})
}

// The line end between two replies was lost, and with it none or some of the characters
// around it: nothing is read that neither held.
func TestDecoder_LinesMerged(t *testing.T) {
	second := map[obd.Form]string{obd.FormCAN11: "7E904410C2328", obd.FormCAN29: "18DAF11804410C2328",
		obd.FormKLine: "486B18410C232863", obd.FormJ1850: "486B18410C2328", obd.FormBare: "410C2328"}
	second[obd.FormJ1850] += string("0123456789ABCDEF"[J1850CRC(unhexAll(t, second[obd.FormJ1850]))>>4]) +
		string("0123456789ABCDEF"[J1850CRC(unhexAll(t, second[obd.FormJ1850]))&15])
	for _, r := range goodReplies {
		line := strings.ReplaceAll(r.line, " ", "")
		for _, merged := range []string{line + second[r.form], second[r.form] + line, line + line, line + line + line} {
			if got := readings(used(r.form, r.request, line), exchangeOf(5*time.Second, r.form, r.request, merged)); got != nil {
				t.Errorf("%q: %q", merged, got)
			}
		}
		for i := 1; i < len(line); i++ {
			merged := line[:i] + second[r.form] // the first lost its end
			got := readings(used(r.form, r.request, line), exchangeOf(5*time.Second, r.form, r.request, merged))
			if got != nil {
				t.Errorf("%q: %q", merged, got)
			}
		}
	}
}

// A long reply in parts: one lost, doubled, out of order or of another ECU spoils it, and
// the next one comes whole.
func TestDecoder_LongReplyDamaged(t *testing.T) {
	frames := []string{"7E8 10 0A 41 04 3F 05 44 0B", "7E8 21 21 0C 17 B8 00 00 00"}
	bare := []string{"00A", "0: 41 04 3F 05 44 0B", "1: 21 0C 17 B8 00 00 00"} // ELM327 data sheet p. 45
	for _, c := range []struct {
		what  string
		form  obd.Form
		lines []string
	}{
		{"first frame lost", obd.FormCAN11, frames[1:]},
		{"last frame lost", obd.FormCAN11, frames[:1]},
		{"out of order", obd.FormCAN11, []string{frames[1], frames[0]}},
		{"last frame of another ECU", obd.FormCAN11, []string{frames[0], "7E9" + frames[1][3:]}},
		{"first frame twice", obd.FormCAN11, []string{frames[0], frames[0]}},
		{"last frame short of its data", obd.FormCAN11, []string{frames[0], "7E8 21 21 0C 17"}},
		{"wrong number", obd.FormCAN11, []string{frames[0], "7E8 22 21 0C 17 B8 00 00 00"}},
		{"length lost", obd.FormBare, bare[1:]},
		{"part lost", obd.FormBare, bare[:2]},
		{"part 0 lost", obd.FormBare, []string{bare[0], bare[2]}},
		{"two ECUs without names", obd.FormBare, []string{bare[0], bare[0], bare[1], bare[1], bare[2], bare[2]}},
		{"part that is no hex", obd.FormBare, []string{bare[0], bare[1], "1: 21 0C 17 G8 00 00 00"}},
	} {
		var d Decoder
		if got := readings(&d, exchangeOf(0, c.form, "0104050B0C", c.lines...)); got != nil {
			t.Errorf("%s: %q", c.what, got)
		}
		good := map[obd.Form][]string{obd.FormCAN11: frames, obd.FormBare: bare}[c.form]
		if got := readings(&d, exchangeOf(time.Second, c.form, "0104050B0C", good...)); len(got) != 4 {
			t.Errorf("after %s: %q", c.what, got)
		}
	}
}

// An ECU whose frames are shown padded and cut by turns is read, once that is seen to go on;
// a line that got shorter by itself still is not. Layout: ISO 15765-2.
func TestDecoder_PaddedByTurns(t *testing.T) {
	const padded, cut, hurt = "7E804410C1AF8000000", "7E804410C1AF8", "7E804410C000000"
	d, lost := used(obd.FormCAN11, "010C", padded), 0
	for i := range 200 {
		at := time.Duration(10+i) * time.Second
		if got := d.Decode(&obd.Exchange{Sent: at, Request: "010C", Form: obd.FormCAN11, Lines: []obd.Line{{At: at, Text: []string{padded, cut}[i%2]}}}).Messages; len(got) == 0 {
			lost++
		}
	}
	if lost > 25 {
		t.Errorf("%d of 200 lost", lost)
	}
	d = used(obd.FormCAN11, "010C", padded)
	for i := range 200 {
		at, text := time.Duration(10+i)*time.Second, padded
		if i%10 == 9 {
			text = hurt
		}
		if got := d.Decode(&obd.Exchange{Sent: at, Request: "010C", Form: obd.FormCAN11, Lines: []obd.Line{{At: at, Text: text}}}).Messages; (len(got) == 0) != (text == hurt) {
			t.Errorf("%d: %q gave %d replies", i, text, len(got))
		}
	}
}

// Without headers as with them: a part that lost bytes does not move up what follows, so that
// what the car pads with becomes data. Layout: ISO 15765-2; codes computed here.
func TestDecoder_PartThatLostBytes(t *testing.T) {
	whole := []string{"00A", "0: 43 04 01 02 01 13", "1: 01 23 02 22 00 00 00"}
	for _, cut := range [][]string{
		{whole[0], "0: 43 04 02 01 13", whole[2]},
		{whole[0], "0: 43 04 01 02 01 13 00", whole[2]},
		{whole[0], whole[1], "1: 01 23 22 00 00 00"},
		{whole[0], whole[1], "1: 01 23 22 00"}, // as long as what is left, on an adapter that shows padding
	} {
		var d Decoder
		for i := range surelyPadded {
			x := exchangeOf(time.Duration(i)*time.Second, obd.FormBare, "03", whole...)
			if len(d.Decode(&x).Messages) != 1 {
				t.Fatal("a whole reply is not taken")
			}
		}
		x := exchangeOf(5*time.Second, obd.FormBare, "03", cut...)
		if got := d.Decode(&x).Messages; len(got) > 0 || d.Counts.Damaged == 0 {
			t.Errorf("%q: % X", cut, got[0].Data)
		}
	}
	// An adapter that changes over to cutting is believed after a while.
	var d Decoder
	lost := 0
	for i := range 10 {
		x := exchangeOf(time.Duration(i)*time.Second, obd.FormBare, "03", whole[0], whole[1], []string{whole[2], "1: 01 23 02 22"}[min(i/4, 1)])
		if len(d.Decode(&x).Messages) == 0 {
			lost++
		}
	}
	if lost != surelyPadded {
		t.Errorf("%d lost, want %d", lost, surelyPadded)
	}
}
