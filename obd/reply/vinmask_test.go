package reply

import (
	"judder/obd"
	"slices"
	"strings"
	"testing"
	"time"
)

// Raw replies are laid out by SAE J1979, ISO 15765-2, ISO 9141-2 and the ELM327 data sheet
// (p. 42: numbered lines, and long replies without headers); the numbers are ours. Check bytes are
// computed here.
func TestVINMask(t *testing.T) {
	const can, kline, bare = obd.FormCAN11, obd.FormKLine, obd.FormBare
	const (
		first, second, third = "7E8 10 14 49 02 01 30 54 45", "7E8 21 53 54 31 31 41 30 4B", "7E8 22 30 30 30 30 30 30 32"
		firstGone            = "7E8 10 14 49 02 01 2A 2A 2A"
		secondGone           = "7E8 21 2A 2A 2A 2A 2A 2A 2A"
		hidden               = "7E8 22 30 2A 2A 2A 2A 2A 2A"
		whole, wholeHidden   = first + "|" + second + "|" + third, first + "|" + second + "|" + hidden
		calibration          = "7E8 10 13 49 04 01 53 49 4D|7E8 21 43 41 52 2D 45 4E 47|7E8 22 2D 30 30 30 31 AA AA"
		older                = "48 6B 10 49 02 01 00 00 00 30 3F|48 6B 10 49 02 02 54 45 53 54 50|48 6B 10 49 02 03 31 31 41 30 E4|48 6B 10 49 02 04 4B 30 30 30 ED|48 6B 10 49 02 05 30 30 30 32 D5"
		olderHidden          = "48 6B 10 49 02 01 00 00 00 30 3F|48 6B 10 49 02 02 54 45 53 54 50|48 6B 10 49 02 03 31 31 41 30 E4|48 6B 10 49 02 04 4B 30 2A 2A E1|48 6B 10 49 02 05 2A 2A 2A 2A BB"
		olderBare            = "49 02 01 00 00 00 30|49 02 02 54 45 53 54|49 02 03 31 31 41 30|49 02 04 4B 30 30 30|49 02 05 30 30 30 32"
		twoNames             = "49 0A 01 45 43 4D 2D|49 0A 01 54 43 4D 2D|49 0A 02 45 6E 67 69|49 0A 03 6E 65 43 6F|49 0A 02 54 72 61 6E|49 0A 03 73 6D 69 73|49 0A 04 31 31 31 31|49 0A 05 31 31 00 00|49 0A 04 43 6F 6E 74|49 0A 05 72 6F 6C 00"
		olderBareHidden      = "49 02 01 00 00 00 30|49 02 02 54 45 53 54|49 02 03 31 31 41 30|49 02 04 4B 30 2A 2A|49 02 05 2A 2A 2A 2A"
	)
	type exchange struct {
		form                 obd.Form
		request, lines, want string
	}
	late := []exchange{{can, "0902", "NO DATA", "NO DATA"}, {can, "0904", whole + "|" + calibration, wholeHidden + "|" + calibration}}
	for _, c := range []struct {
		name string
		in   []exchange
	}{
		{"late", late},
		{"without spaces", []exchange{{can, "0904", strings.ReplaceAll(whole, " ", ""), strings.ReplaceAll(wholeHidden, " ", "")}}},
		{"over two exchanges", []exchange{{can, "0902", first, firstGone}, {can, "0904", second + "|" + third, second + "|" + hidden}}},
		{"two computers at once", []exchange{{can, "0904", first + "|7E9 10 14 49 02 01 30 54 45|" + second + "|7E9 21 53 54 31 31 41 30 4B|7E9 22 30 30 30 30 30 30 37|" + third,
			first + "|7E9 10 14 49 02 01 30 54 45|" + second + "|7E9 21 53 54 31 31 41 30 4B|7E9 22 30 2A 2A 2A 2A 2A 2A|" + hidden}}},
		{"a frame lost", []exchange{{can, "0904", first + "|" + third, firstGone + "|7E8 22 2A 2A 2A 2A 2A 2A 2A"}}},
		{"a byte lost", []exchange{{can, "0904", first + "|" + second + "|7E8 22 30 30 30 30 30 32", firstGone + "|" + secondGone + "|7E8 22 2A 2A 2A 2A 2A 2A"}}},
		{"the first lost", []exchange{{can, "0904", third, "7E8 22 2A 2A 2A 2A 2A 2A 2A"}}},
		{"F190 behind another request", []exchange{{can, "22F187", "768 10 14 62 F1 90 30 54 45|768 21 53 54 31 31 41 30 4B|768 22 30 30 30 30 30 30 32",
			"768 10 14 62 F1 90 30 54 45|768 21 53 54 31 31 41 30 4B|768 22 30 2A 2A 2A 2A 2A 2A"}}},
		{"F802", []exchange{{can, "22F804", "7E8 10 14 62 F8 02 30 54 45|" + second + "|" + third, "7E8 10 14 62 F8 02 30 54 45|" + second + "|" + hidden}}},
		{"29 bits", []exchange{{obd.FormCAN29, "0904", "18 DA F1 10 10 14 49 02 01 30 54 45|18 DA F1 10 21 53 54 31 31 41 30 4B|18 DA F1 10 22 30 30 30 30 30 30 32",
			"18 DA F1 10 10 14 49 02 01 30 54 45|18 DA F1 10 21 53 54 31 31 41 30 4B|18 DA F1 10 22 30 2A 2A 2A 2A 2A 2A"}}},
		{"older bus, the beginning lost", []exchange{{kline, "0904", "48 6B 10 49 02 04 30 30 30 30 D2|48 6B 10 49 02 05 30 30 30 32 D5", "48 6B 10 49 02 04 2A 2A 2A 2A BA|48 6B 10 49 02 05 2A 2A 2A 2A BB"}}},
		{"older bus", []exchange{{kline, "0904", older, olderHidden}}},
		{"headers forgotten", []exchange{{can, "0902", olderBare, olderBareHidden}}},
		{"a line in two exchanges", []exchange{{can, "0902", "7E8 22 30 31", "7E8 22 30 31"}, {can, "010C", "31 32|7E8 04 41 0C 1A F8", "** **|7E8 04 41 0C 1A F8"}}},
		{"behind a reply", []exchange{{can, "010C", "7E8 02 41 0C 30 31 32 30 31|7E8 04 41 0C 1A F8 55 55 55", "7E8 02 41 0C 2A 2A 2A 2A 2A|7E8 04 41 0C 1A F8 55 55 55"}}},
		{"two computers without names", []exchange{{bare, "090A", twoNames, twoNames}}},
		{"calibration of an older bus", []exchange{{bare, "0904", "49 04 01 53 49 4D 43|49 04 02 41 52 2D 45|49 04 03 4E 47 31 31|49 04 04 31 31 31 31",
			"49 04 01 53 49 4D 43|49 04 02 41 52 2D 45|49 04 03 4E 47 31 31|49 04 04 31 31 31 31"}}},
		{"without headers", []exchange{{bare, "0904", "014|0: 49 02 01 30 54 45|1: 53 54 31 31 41 30 4B|2: 30 30 30 30 30 30 32", "014|0: 49 02 01 30 54 45|1: 53 54 31 31 41 30 4B|2: 30 2A 2A 2A 2A 2A 2A"}}},
		{"a snapshot's identifier", []exchange{{can, "1904C14087FF", "768 10 1B 59 04 C1 40 87 2F|768 21 01 01 F1 90 30 54 45|768 22 53 54 31 31 41 30 4B|768 23 30 30 30 30 30 30 32",
			"768 10 1B 59 04 C1 40 87 2F|768 21 01 01 F1 90 30 54 45|768 22 53 54 31 31 41 30 4B|768 23 30 2A 2A 2A 2A 2A 2A"}}},
		{"known, in a snapshot", append(slices.Clone(late), exchange{can, "1906C14087FF", "768 10 18 59 06 C1 40 87 2F|768 21 01 30 54 45 53 54 31|768 22 31 41 30 4B 30 30 30|768 23 30 30 30 32 AA AA AA",
			"768 10 18 59 06 C1 40 87 2F|768 21 01 30 54 45 53 54 31|768 22 31 41 30 4B 30 2A 2A|768 23 2A 2A 2A 2A AA AA AA"})},
		{"damaged", append(slices.Clone(late), exchange{can, "03", "7E8 22 30 30 30 30 30 3 32|7E8 22 30 30 30 30 <RX ERROR", "*** ** ** ** ** ** ** * **|*** ** ** ** ** ** <RX *RROR"})},
		{"nothing of it", []exchange{{can, "0904", calibration + "|7E8 04 41 0C 1A F8 AA AA AA", calibration + "|7E8 04 41 0C 1A F8 AA AA AA"}}},
	} {
		t.Run(c.name, func(t *testing.T) {
			var m VINMask
			for i, x := range c.in {
				got := strings.Join(texts(m.Hide(exchangeOf(time.Duration(i)*time.Second, x.form, x.request, strings.Split(x.lines, "|")...))), "|")
				if got != x.want {
					t.Errorf("%s\n%s, want\n%s", x.request, got, x.want)
				}
			}
		})
	}
}

// A flood without line ends must not hold up the dialogue.
func TestVINMask_LongLine(t *testing.T) {
	flood := "\t" + strings.Repeat("3", 1<<18) + "?"
	var m VINMask
	if got := texts(m.Hide(exchangeOf(0, obd.FormCAN11, "03", flood)))[0]; strings.Contains(got, "3") || len(got) != len(flood) {
		t.Errorf("%d characters of %d remain", strings.Count(got, "3"), len(flood))
	}
}

// Whatever comes, a line keeps its length, and nothing breaks.
func FuzzVINMask_AnyLines(f *testing.F) {
	f.Add("0904", "7E8 10 14 49 02 01 30 54 45\n7E8 21 53 54 31 31 41 30 4B\n7E8 22 30 30 30 30 30 30 32", byte(obd.FormCAN11))
	f.Add("0902", "014\n0: 49 02 01 30 54 45\n1: 53 54 31", byte(obd.FormBare))
	f.Add("0902", "48 6B 10 49 02 05 30 30 30 32 D5", byte(obd.FormKLine))
	f.Fuzz(func(t *testing.T, request, lines string, form byte) {
		x := exchangeOf(0, obd.Form(form%6), request, strings.Split(lines, "\n")...)
		var m VINMask
		for range 2 {
			for i, text := range texts(m.Hide(x)) {
				if len(text) != len(x.Lines[i].Text) {
					t.Errorf("%q became %q", x.Lines[i].Text, text)
				}
			}
		}
	})
}
