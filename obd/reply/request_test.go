package reply

import (
	"bytes"
	"strings"
	"testing"
)

// An identifier is answered by its own reply only, when the dialogue is out of step.
func TestRequest_NamedByItsIdentifier(t *testing.T) {
	for _, c := range []struct {
		request, line string
		want          bool
	}{
		{"22F804", "7E81014 62F804 01434F4D", true}, {"22F804", "7E81014 62F802 01434F4D", false},
		{"22F40CF40D", "7E80462F40D64", true}, {"22F40CF40D", "7E80462F40464", false},
		{"194233081E", "7E81014 594233FF1E", true}, {"194233081E", "7E80659023307", false},
	} {
		if r := ParseRequest(c.request); r.NamedIn(c.line) != c.want {
			t.Errorf("%s for %s: %v", c.line, c.request, !c.want)
		}
	}
}

// A freeze frame's value answers only the question about its PID and frame (SAE J1979), details of
// a trouble code only that about their code (ISO 14229-1, reports 04 and 06 of service 19).
func TestRequest_DetailsOfOneCode(t *testing.T) {
	for _, c := range []struct {
		request, reply string
		want           bool
	}{
		{"1904074100FF", "590407410028 01", true}, {"1904074100FF", "590403000028 01", false},
		{"020400", "42040050", true}, {"020400", "420000183B8013", false}, {"020400", "42040150", false}, // SAE J1979
		{"1906074100FF", "590607410028 01", true}, {"1906074100FF", "590603000028", false},
		{"1906074100FF", "590407410028", false}, {"1904074100FF", "590407", false}, {"19022F", "59022F07410028", true},
	} {
		r := ParseRequest(c.request)
		if got := r.AnsweredBy(unhexAll(t, strings.ReplaceAll(c.reply, " ", ""))); got != c.want {
			t.Errorf("%s to %s: %v", c.reply, c.request, got)
		}
	}
}

// What an ECU pads its frames with is its choice (ISO 15765-2): any byte, or what was left in its
// buffer.
func TestRequest_NamedWhateverThePadding(t *testing.T) {
	r := ParseRequest("010C")
	for _, pad := range []string{"", "000000", "77", "773412", "411234", "0D0C41", "FFFFFF"} {
		if text := "7E804410C1AF8" + pad; !r.NamedIn(text) {
			t.Errorf("%s is not taken for an answer", text)
		}
	}
	for _, other := range []string{"7E806410C1AF80D64", "7E803410D64AAAAAA", "7E8037F0C12"} {
		if r.NamedIn(other) {
			t.Errorf("%s passes for an answer", other)
		}
	}
}

func TestParseRequest(t *testing.T) {
	for _, c := range []struct {
		text  string
		bytes string // "": not a request to the car
	}{
		{"010C", "01 0C"}, {"010C0D1", "01 0C 0D"}, {"03", "03"}, {"22F190", "22 F1 90"}, {"0A", "0A"}, {"ff", ""},
		{"01020304050607", "01 02 03 04 05 06 07"}, {"010203040506071", "01 02 03 04 05 06 07"}, {"0102030405060708", ""},
		{"AT", ""}, {"ATE0", ""}, {"", ""}, {"1", ""}, {"0G", ""}, {"G0", ""}, {"01 0C", ""},
	} {
		r := ParseRequest(c.text)
		want := unhexAll(t, c.bytes)
		if r.ToCar() != (c.bytes != "") {
			t.Errorf("%q: to the car %v", c.text, r.ToCar())
		} else if r.ToCar() && (r.Service() != want[0] || !bytes.Equal(r.Items(), want[1:])) {
			t.Errorf("%q: %02X % X", c.text, r.Service(), r.Items())
		}
		if !r.ToCar() && (len(r.Items()) > 0 || r.AnsweredBy([]byte{0x40, 0x00}) || r.AnsweredBy([]byte{0x7F, 0x00, 0x12})) {
			t.Errorf("%q is answered", c.text)
		}
	}
}

// Replies by SAE J1979 and ISO 14229-1: the service plus 40, then what was asked; or 7F and the
// service.
func TestRequest_AnsweredBy(t *testing.T) {
	for _, c := range []struct {
		request, yes, no string // replies, separated by commas
	}{
		{"010C", "410C1AF8,7F0112,7F01", "410C1A,410C1AF800,410D33,41,7F0212,7F,43,620C1AF8,"},
		{"010C0D", "410C1AF80D33,410D330C1AF8", "410C1AF80D,410D33410C1AF8,410C1AF8410C1AF8"},
		{"01", "7F0112", "410C1AF8"},
		{"0200", "4200,420000,42000000", "42,420C00"},
		{"020C00", "420C001AF8", "420C,420C01,420D00"},
		{"02", "42,420C", "41"},
		{"03", "43,4300,43010133", "44,4100"},
		{"0600", "4600,460080000000", "46,4601"},
		{"06", "46,4601", ""},
		{"0904", "4904,490401", "49,4902"},
		{"0902040A", "4904,490A", "4906"},
		{"09", "49,4902", ""},
		{"22F190", "62F190,62F19041", "62,62F1,62F191,62F290,63F190"},
		{"22F40C22F40D", "", "62F40D"},
		{"22F1", "7F2231", "62F1,62F190"},
		{"22", "", "62,62F190"},
		{"1902FF", "5902,5902FF,590200", "59,5901"},
		{"19", "7F1911", "59,5900"},
		{"1904C140", "5904,5904FFFF", "5906"},
		{"1904C14087FF", "5904C140872F", "5904,5904C14088,5904C141872F,5904D140872F,5904C140"},
		{"1906C14087FF", "5906C140872F", "5906,5904C140872F"},
		{"1904C14087", "5904C14087,5904C140872F", "5904C14088,5904C140"},
		{"1902", "5902", "5901"},
		{"1902C14087FF", "5902,590200", "5904"},
		{"3E00", "7E,7E00,7E01", "7F3F,3E"},
	} {
		r := ParseRequest(c.request)
		for want, list := range map[bool]string{true: c.yes, false: c.no} {
			for _, reply := range strings.Split(list, ",") {
				if list != "" && r.AnsweredBy(unhexAll(t, reply)) != want {
					t.Errorf("%s by %s: %v", c.request, reply, !want)
				}
			}
		}
	}
}

// A raw line is taken for an answer as long as it can be one: lengths by SAE J1979, frames by
// ISO 15765-2, the check byte by ISO 9141-2.
func TestRequest_NamedIn(t *testing.T) {
	for _, c := range []struct {
		request, yes, no string // lines, separated by commas
	}{
		{"010C", "7E8 04 41 0C 1A F8,41 0C 1A F8,410C1AF8,486B10410C1AF822,410C1AF8AA,410C1A,410C,410C1AF8555555,410C1AF800", "410D33,41,0C1AF8,NO DATA,410C1AF80D33,410C1AF8GG,410C1AF80G,410C1AF8G0,410C1AF81122"},
		{"010C0D", "410C1AF80D33,410D33,7E806410C1AF80D33,7E803410D33,410D33410C1AF8", "410F55,7E804410F5544"},
		{"010C", "7E804410C1AF8773412,04410C1AF8773412,01410C1AF8773412,7E8 10 0A 41 0C 1A F8 00,07410C1AF8", "7E808410C1AF87734,7E800410C1AF87734,7E814410C1AF87734"},
		{"010C10", "7E807410C1AF8100344773412", ""},
		{"010C100D", "", "7E808410C1AF81003440D773412"},
		{"03", "43,4300,7E8 02 43 00,0243", "42,4 4,"},
		{"22F190", "62F190,7E8 10 14 62 F1 90 30", "62F1,62F191,62 90 F1"},
		{"22F40CF40D", "62F40C1AF8,62F40D33", "62F40F"},
		{"22F1", "", "62F190"},
		{"1902FF", "5902,5902FF,7E8 03 59 02 FF", "59FF,5901"},
		{"0904", "4904,7E8 10 13 49 04 01", "4902"},
	} {
		r := ParseRequest(c.request)
		for want, list := range map[bool]string{true: c.yes, false: c.no} {
			for _, line := range strings.Split(list, ",") {
				if list != "" && r.NamedIn(line) != want {
					t.Errorf("%s in %q: %v", c.request, line, !want)
				}
			}
		}
	}
}
