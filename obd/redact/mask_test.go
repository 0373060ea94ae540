package redact

import (
	"fmt"
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/judder-obd/judder/obd"
	"github.com/judder-obd/judder/obd/reply"
)

// masking is a mask with the decoder that it reads.
type masking struct {
	mask    Mask
	decoder reply.Decoder
	decoded *reply.Decoded // the latest
}

// hide gives the lines of an exchange as they are kept.
func (m *masking) hide(x obd.Exchange) (lines []string) {
	m.decoded = m.decoder.Decode(&x)
	for _, l := range m.mask.Hide(x, m.decoded).Lines {
		lines = append(lines, l.Text)
	}
	return lines
}

// exchangeOf is an exchange as a car would have it, its lines 20 ms after the request.
func exchangeOf(sent time.Duration, form obd.Form, request string, lines ...string) obd.Exchange {
	x := obd.Exchange{Sent: sent, Request: request, Form: form, Done: sent + 25*time.Millisecond}
	for _, l := range lines {
		x.Lines = append(x.Lines, obd.Line{At: sent + 20*time.Millisecond, Text: l})
	}
	return x
}

// Raw replies are laid out by SAE J1979, ISO 15765-2, ISO 9141-2 and the ELM327 data sheet
// (p. 42: numbered rows, and long replies without headers); the numbers are ours. Check bytes are
// computed here.
const can, kline, bare = obd.FormCAN11, obd.FormKLine, obd.FormBare
const (
	first, second, third = "7E8 10 14 49 02 01 30 54 45", "7E8 21 53 54 31 31 41 30 4B", "7E8 22 30 30 30 30 30 30 32"
	hidden               = "7E8 22 30 2A 2A 2A 2A 2A 2A"
	gone, gone29         = "*** ** ** ** ** ** ** ** **", "** ** ** ** ** ** ** ** ** ** ** **"
	whole, wholeHidden   = first + "|" + second + "|" + third, first + "|" + second + "|" + hidden
	other                = "7E9 10 14 49 02 01 30 54 45|7E9 21 53 54 31 31 41 30 4B|7E9 22 30 30 30 30 30 30 37"
	otherHidden          = "7E9 10 14 49 02 01 30 54 45|7E9 21 53 54 31 31 41 30 4B|7E9 22 30 2A 2A 2A 2A 2A 2A"
	calibration          = "7E8 10 13 49 04 01 53 49 4D|7E8 21 43 41 52 2D 45 4E 47|7E8 22 2D 30 30 30 31 AA AA"
	older                = "48 6B 10 49 02 01 00 00 00 30 3F|48 6B 10 49 02 02 54 45 53 54 50|48 6B 10 49 02 03 31 31 41 30 E4|48 6B 10 49 02 04 4B 30 30 30 ED|48 6B 10 49 02 05 30 30 30 32 D5"
	olderHidden          = "48 6B 10 49 02 01 00 00 00 30 3F|48 6B 10 49 02 02 54 45 53 54 50|48 6B 10 49 02 03 31 31 41 30 E4|48 6B 10 49 02 04 4B 30 2A 2A E1|48 6B 10 49 02 05 2A 2A 2A 2A BB"
	olderBare            = "49 02 01 00 00 00 30|49 02 02 54 45 53 54|49 02 03 31 31 41 30|49 02 04 4B 30 30 30|49 02 05 30 30 30 32"
	olderBareHidden      = "49 02 01 00 00 00 30|49 02 02 54 45 53 54|49 02 03 31 31 41 30|49 02 04 4B 30 2A 2A|49 02 05 2A 2A 2A 2A"
	twoNames             = "49 0A 01 45 43 4D 2D|49 0A 01 54 43 4D 2D|49 0A 02 45 6E 67 69|49 0A 03 6E 65 43 6F|49 0A 02 54 72 61 6E|49 0A 03 73 6D 69 73|49 0A 04 31 31 31 31|49 0A 05 31 31 00 00|49 0A 04 43 6F 6E 74|49 0A 05 72 6F 6C 00"
	row                  = "** ** ** ** ** ** **"
)

// exchange is what was asked, what came, and what is kept of it.
type exchange struct {
	form                 obd.Form
	request, lines, want string
}

type dialogue struct {
	name string
	in   []exchange
}

// after is an exchange after a request that nobody answered in time.
func after(request string, x exchange) []exchange {
	return []exchange{{x.form, request, "NO DATA", "NO DATA"}, x}
}

var late = after("0902", exchange{can, "0904", whole + "|" + calibration, wholeHidden + "|" + calibration})

func kept(t *testing.T, dialogues []dialogue) {
	for _, c := range dialogues {
		t.Run(c.name, func(t *testing.T) {
			var m masking
			for i, x := range c.in {
				got := strings.Join(m.hide(exchangeOf(time.Duration(i)*time.Second, x.form, x.request, strings.Split(x.lines, "|")...)), "|")
				if got != x.want {
					t.Errorf("%s\n%s, want\n%s", x.request, got, x.want)
				}
			}
		})
	}
}

// The end of a number is hidden in a reply that is whole, and all of one that is not.
func TestMask_Numbers(t *testing.T) {
	kept(t, []dialogue{
		{"late", late},
		{"without spaces", []exchange{{can, "0902", strings.ReplaceAll(whole, " ", ""), strings.ReplaceAll(wholeHidden, " ", "")}}},
		{"nobody asked for it", []exchange{{can, "0904", whole, gone + "|" + gone + "|" + gone}}},
		{"over two exchanges", []exchange{{can, "0902", first, gone}, {can, "0904", second + "|" + third, gone + "|" + gone}}},
		{"two ECUs at once", []exchange{{can, "0902", whole + "|" + other, wholeHidden + "|" + otherHidden}}},
		{"a frame lost", []exchange{{can, "0902", first + "|" + third, gone + "|" + gone}}},
		{"a byte lost", []exchange{{can, "0902", first + "|" + second + "|7E8 22 30 30 30 30 30 32", gone + "|" + gone + "|*** ** ** ** ** ** ** **"}}},
		{"no number is programmed", []exchange{{can, "22F190", "7E8 06 62 F1 90 FF FF FF", "*** ** ** ** ** ** ** **"}}},
		{"F190 behind another request", after("22F190", exchange{can, "22F187", "768 10 14 62 F1 90 30 54 45|768 21 53 54 31 31 41 30 4B|768 22 30 30 30 30 30 30 32",
			"768 10 14 62 F1 90 30 54 45|768 21 53 54 31 31 41 30 4B|768 22 30 2A 2A 2A 2A 2A 2A"})},
		{"F802", []exchange{{can, "22F802", "7E8 10 14 62 F8 02 30 54 45|" + second + "|" + third, "7E8 10 14 62 F8 02 30 54 45|" + second + "|" + hidden}}},
		{"29 bits", []exchange{{obd.FormCAN29, "0902", "18 DA F1 10 10 14 49 02 01 30 54 45|18 DA F1 10 21 53 54 31 31 41 30 4B|18 DA F1 10 22 30 30 30 30 30 30 32",
			"18 DA F1 10 10 14 49 02 01 30 54 45|18 DA F1 10 21 53 54 31 31 41 30 4B|18 DA F1 10 22 30 2A 2A 2A 2A 2A 2A"}}},
		{"29 bits, the first lost", []exchange{{obd.FormCAN29, "0902", "18 DA F1 10 22 30 30 30 30 30 30 32", gone29}}},
		{"without headers", []exchange{{bare, "0902", "014|0: 49 02 01 30 54 45|1: 53 54 31 31 41 30 4B|2: 30 30 30 30 30 30 32", "014|0: 49 02 01 30 54 45|1: 53 54 31 31 41 30 4B|2: 30 2A 2A 2A 2A 2A 2A"}}},
		{"a snapshot's identifier", []exchange{{can, "1904C14087FF", "768 10 1B 59 04 C1 40 87 2F|768 21 01 01 F1 90 30 54 45|768 22 53 54 31 31 41 30 4B|768 23 30 30 30 30 30 30 32",
			"768 10 1B 59 04 C1 40 87 2F|768 21 01 01 F1 90 30 54 45|768 22 53 54 31 31 41 30 4B|768 23 30 2A 2A 2A 2A 2A 2A"}}},
		{"known, in a snapshot", append(slices.Clone(late), exchange{can, "1906C14087FF", "768 10 18 59 06 C1 40 87 2F|768 21 01 30 54 45 53 54 31|768 22 31 41 30 4B 30 30 30|768 23 30 30 30 32 AA AA AA",
			"768 10 18 59 06 C1 40 87 2F|768 21 01 30 54 45 53 54 31|768 22 31 41 30 4B 30 2A 2A|768 23 2A 2A 2A 2A AA AA AA"})},
		{"its end alone, known", append(slices.Clone(late), exchange{can, "22F187", "7E8 10 09 62 F1 87 30 30 30|7E8 21 30 30 32 AA AA AA AA", "7E8 10 09 62 F1 87 2A 2A 2A|7E8 21 2A 2A 2A AA AA AA AA"})},
	})
}

// Rows of the older buses, and lines that nothing shows to be whole.
func TestMask_OlderBuses(t *testing.T) {
	kept(t, []dialogue{
		{"older bus", []exchange{{kline, "0902", older, olderHidden}}},
		{"older bus, the beginning lost", []exchange{{kline, "0902", "48 6B 10 49 02 04 4B 30 30 30 ED|BUS INIT: ...OK48 6B 10 49 02 05 30 30 30 32 D5",
			"48 6B 10 49 02 04 4B 30 2A 2A E1|BUS INIT: ...OK48 6B 10 49 02 05 2A 2A 2A 2A BB"}}},
		{"older bus, a row too many", []exchange{{kline, "0902", "48 6B 10 49 02 06 30 30 30 32 D6|48 6B 10 49 02 00 30 30 30 32 D0", "** ** ** " + row + " **|** ** ** " + row + " **"}}},
		{"J1850", []exchange{{obd.FormJ1850, "0902", fmt.Sprintf("48 6B 10 49 02 05 30 30 30 32 %02X", reply.J1850CRC([]byte("\x48\x6B\x10\x49\x02\x05\x30\x30\x30\x32"))),
			fmt.Sprintf("48 6B 10 49 02 05 2A 2A 2A 2A %02X", reply.J1850CRC([]byte("\x48\x6B\x10\x49\x02\x05****")))}}},
		{"headers forgotten", []exchange{{can, "0902", olderBare, olderBareHidden}}},
		{"headers forgotten, a row lost", []exchange{{can, "0902", olderBare[len("49 02 01 00 00 00 30|"):], row + "|" + row + "|" + row + "|" + row}}},
		{"two ECUs without names", []exchange{{bare, "090A", twoNames, twoNames}}},
		{"calibration of an older bus", []exchange{{bare, "0904", "49 04 01 53 49 4D 43|49 04 02 41 52 2D 45|49 04 03 4E 47 31 31|49 04 04 31 31 31 31",
			"49 04 01 53 49 4D 43|49 04 02 41 52 2D 45|49 04 03 4E 47 31 31|49 04 04 31 31 31 31"}}},
		{"one row of another item", []exchange{{bare, "0906", "49 06 01 DE AD BE EF|49 06 03 30 30 30 32", "49 06 01 DE AD BE EF|" + row}}},
		{"may be a piece, without headers", []exchange{{bare, "03", "43 30 30 30 32|43 02 05 30 30 30 32|43 02 05 30 30 30|43 02 05 30 30 30 2D|43 02 05 5B 30 30 30|43 00", "** ** ** ** **|" + row + "|43 02 05 30 30 30|43 02 05 30 30 30 2D|43 02 05 5B 30 30 30|43 00"}}},
		{"parameters, without headers", []exchange{{bare, "010C4231", "41 0C 41 42 31 30 30|41 0C 1A F8", "41 0C 41 42 31 30 30|41 0C 1A F8"}}},
	})
}

// What holds no number stays, as far as a reply or the adapter itself accounts for it.
func TestMask_Accounted(t *testing.T) {
	kept(t, []dialogue{
		{"a line in two exchanges", []exchange{{can, "0902", "7E8 22 30 31", "*** ** ** **"}, {can, "010C", "31 32|7E8 04 41 0C 1A F8", "** **|7E8 04 41 0C 1A F8"}}},
		{"behind a reply", []exchange{{can, "010C", "7E8 04 41 0C 1A F8 30 31 32|7E8 04 41 0C 1A F8 55 55 55|7E8 04 41 0C 1A F8 00 55 AA|7E8 04 41 0C 1A F8 CC FF 54",
			"7E8 04 41 0C 1A F8 2A 2A 2A|7E8 04 41 0C 1A F8 55 55 55|7E8 04 41 0C 1A F8 00 55 AA|7E8 04 41 0C 1A F8 CC FF 2A"}}},
		{"with their header and length", []exchange{{can, "03", "7E8 05 43 30 30 30 32", "7E8 05 43 30 30 30 32"}}},
		{"damaged", []exchange{{can, "03", "7E8 22 30 30 30 30 30 3 32|R 30 30 30 <RX ERROR|\t30x30y30z?\xFF", "*** ** ** ** ** ** ** * **|* ** ** ** <RX ERROR|\t*********?\xFF"}}},
		{"before it ran out of room", []exchange{{can, "010C", "7E8 04 41 0C 1A F8|BUFFER FULL", "*** ** ** ** ** **|BUFFER FULL"}}},
		{"the adapter's words", []exchange{{can, "010C", "010C|SEARCHING...|NO DATA|?|7E8 04 <DATA ERROR|SEARCHING...30 30 30|ELM327 v1.5|ERR94|ELM 30 30 30|0902|OBDII to RS232",
			"010C|SEARCHING...|NO DATA|?|*** ** <DATA ERROR|SEARCHING...** ** **|ELM327 v1.5|ERR94|ELM ** ** **|****|***** ** *****"}}},
		{"the adapter's own answers", []exchange{{can, "ATI", "ELM327 v1.5|12.4V|A6|AUTO, ISO 15765-4 (CAN 11/500)|OBDII to RS232|303030|30 30x3|FFFFFF|FFFFF", "ELM327 v1.5|12.4V|A6|AUTO, ISO 15765-4 (CAN 11/500)|OBDII to RS232|******|30 30x3|******|FFFFF"}}},
		{"a car's frame behind a command", after("010C", exchange{can, "ATRV", "7E8 04 41 0C 1A F8|7E8 04 41 0D 1A F8|12.4V", "7E8 04 41 0C 1A F8|*** ** ** ** ** **|12.4V"})},
		{"nothing asked", []exchange{{can, "", "OBDII|12.4V", "*****|**.**"}}},
		{"nothing of it", []exchange{{can, "010C", "", ""}, {can, "0904", calibration + "|7E8 04 41 0C 1A F8 AA AA AA", calibration + "|7E8 04 41 0C 1A F8 AA AA AA"}}},
	})
}

// A hostile car's numbers do not fill the memory.
func TestMask_ManyNumbers(t *testing.T) {
	var m masking
	for i := range 2 * knownMost {
		m.hide(exchangeOf(time.Duration(i)*time.Second, can, "0902", first, second, "7E8 22 30 30 30 30 30 "+fmt.Sprintf("%02X %02X", '0'+i/10, '0'+i%10)))
	}
	if len(m.mask.known) != knownMost {
		t.Errorf("%d numbers are kept", len(m.mask.known))
	}
}

// A flood without line ends must not hold up the dialogue.
func TestMask_LongLine(t *testing.T) {
	flood := "\t" + strings.Repeat("3", 1<<18) + "?"
	var m masking
	if got := m.hide(exchangeOf(0, obd.FormCAN11, "03", flood))[0]; strings.Contains(got, "3") || len(got) != len(flood) {
		t.Errorf("%d characters of %d remain", strings.Count(got, "3"), len(flood))
	}
}

// Whatever comes, a line keeps its length, and nothing breaks.
func FuzzMask_AnyLines(f *testing.F) {
	f.Add("0904", "7E8 10 14 49 02 01 30 54 45\n7E8 21 53 54 31 31 41 30 4B\n7E8 22 30 30 30 30 30 30 32", byte(obd.FormCAN11))
	f.Add("0902", "014\n0: 49 02 01 30 54 45\n1: 53 54 31", byte(obd.FormBare))
	f.Add("0902", "48 6B 10 49 02 05 30 30 30 32 D5", byte(obd.FormKLine))
	f.Fuzz(func(t *testing.T, request, lines string, form byte) {
		x := exchangeOf(0, obd.Form(form%6), request, strings.Split(lines, "\n")...)
		var m masking
		for range 2 {
			for i, text := range m.hide(x) {
				if len(text) != len(x.Lines[i].Text) {
					t.Errorf("%q became %q", x.Lines[i].Text, text)
				}
			}
		}
	})
}
