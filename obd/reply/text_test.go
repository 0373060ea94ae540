package reply

import (
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/judder-obd/judder/obd"
)

// The status texts and their meaning are those of the table in statuses.
func TestWhy(t *testing.T) {
	x := exchangeOf(0, obd.FormCAN11, "010C", "SEARCHING...", " BUS BUSY ", "STOPPED", "7E8 04 41 0C 1A F8")
	if got := Why(&x, ActAgain); !strings.HasPrefix(got, " (BUS BUSY: ") || !strings.HasSuffix(got, ")") {
		t.Errorf("%q", got)
	}
	if got := Why(&x, ActSetUp); got != "" {
		t.Errorf("for nothing: %q", got)
	}
}

func TestSays(t *testing.T) {
	x := exchangeOf(0, obd.FormCAN11, "010C", " STOPPED\t", "7E8 04 41 0C 1A F8", "?"+strings.Repeat(" ", 100))
	for text, want := range map[string]bool{"STOPPED": true, "STOP": false, "NO DATA": false, "?": false} {
		if Says(&x, text) != want {
			t.Errorf("%q: %v", text, !want)
		}
	}
	long := exchangeOf(0, obd.FormCAN11, "010C", "OK  ")
	if Says(&long, "OK") { // a text with as much around it as it is long is none
		t.Error("blanks as long as the text")
	}
	if long.Lines[0].Text = "OK "; !Says(&long, "OK") {
		t.Error("one blank")
	}
}

// The requests that hold the number: SAE J1979 service 09, SAE J1979-2, ISO 14229-1.
func TestTellsVIN(t *testing.T) {
	for request, want := range map[string]bool{"0902": true, "09021": true, "22F802": true, "22F190": true, "0904": false, "22F187": false, "010C": false} {
		if TellsVIN(request) != want {
			t.Errorf("%s: %v", request, !want)
		}
	}
}

func TestMayAnswer(t *testing.T) {
	const late = time.Second // the exchange's lines come before the request
	for _, c := range []struct {
		request string
		lines   string
		sent    time.Duration // later than the lines, if any
		want    bool
	}{
		{"", "whatever", 0, true},
		{"", "", 0, true},
		{"ATRV", "12.4V", 0, true},
		{"ATRV", "12.4V", late, false},
		{"ATRV", "12.4V", 20 * time.Millisecond, true}, // at the moment of the command
		{"ATDPN", "A6", 0, true},
		{"ATZ", "7E8 04 41 0C 1A F8", 0, false},
		{"ATZ", "NO DATA", 0, false},
		{"ATZ", "NO DATA|OK", 0, true},
		{"010C", "7E8 04 41 0C 1A F8", 0, true},
		{"010C", "7E8 04 41 0D 33", 0, false},
		{"010C", "7E8 03 7F 01 12", 0, true},
		{"010C", "7E8 03 7F 09 12", 0, false},
		{"010C", "NO DATA", 0, true},
		{"010C", "SEARCHING...", 0, true},
		{"010C", "OK", 0, false}, // of a command of its own
		{"010C", "12.4V", 0, false},
		{"03", "7E8 02 43 00", 0, true},
	} {
		var lines []string
		if c.lines != "" {
			lines = strings.Split(c.lines, "|")
		}
		x := exchangeOf(0, obd.FormCAN11, c.request, lines...)
		if x.Sent = c.sent; MayAnswer(&x) != c.want {
			t.Errorf("%q for %q: %v", c.lines, c.request, !c.want)
		}
	}
}

// The adapter's shortest answers hold fewer than six hex digits; a bare reply holds six at least.
func TestFromCar(t *testing.T) {
	for text, want := range map[string]bool{
		"NO DATA": true, "7E8 04 41 0C 1A F8": true, "410D33": true, "41 0D 33": true, "41 0D 3": false,
		"A6": false, "12.4V": false, "OK": false, "": false, "7E8 04 41 0C 1A F8 <DATA ERROR": false, "SEARCHING...": false,
	} {
		if FromCar(text) != want {
			t.Errorf("%q: %v", text, !want)
		}
	}
}

func TestBusTrouble(t *testing.T) {
	for lines, want := range map[string]string{
		"7E8 04 41 0C 1A F8|NO DATA":  "",
		"BUS BUSY|STOPPED":            "",
		"NO DATA| CAN ERROR ":         "CAN ERROR",
		"LV RESET|UNABLE TO CONNECT":  "LV RESET",
		"<RX ERROR|UNABLE TO CONNECT": "UNABLE TO CONNECT",
	} {
		got := BusTrouble(strings.Split(lines, "|"))
		if text, means, _ := strings.Cut(got, ": "); text != want || (means == "") != (want == "") {
			t.Errorf("%q: %q, want %q", lines, got, want)
		}
	}
}

// The length line of a long reply, and part 0 behind it (ELM327 data sheet p. 42).
func TestLongBare(t *testing.T) {
	for lines, want := range map[string]bool{
		"014|0: 49 02 01 31 44 34|1: 47 50 30 30 52 35 35": true,
		" 014 | 0: 49 02 01 31 44 34":                      true,
		"NO DATA|00A|0: 43 04 01 02 01 13":                 true,
		"014|1: 47 50 30 30 52 35 35":                      false,
		"0: 49 02 01 31 44 34|014":                         false,
		"007|0: 49 02 01 31 44 34":                         false, // would fit one line
		"008|0: 49 02 01 31 44 34":                         true,
		"0014|0: 49 02 01 31 44 34":                        false,
		"0G4|0: 49 02 01 31 44 34":                         false,
		"014":                                              false,
		"":                                                 false,
	} {
		x := exchangeOf(0, obd.FormCAN11, "0902", strings.Split(lines, "|")...)
		if LongBare(&x) != want {
			t.Errorf("%q: %v", lines, !want)
		}
	}
	if LongBare(&obd.Exchange{}) {
		t.Error("no lines")
	}
}

func TestIsPadding(t *testing.T) {
	var found []byte
	for c := range 256 {
		if IsPadding(byte(c)) {
			found = append(found, byte(c))
		}
	}
	if !slices.Equal(found, []byte{0x00, 0x55, 0xAA, 0xCC, 0xFF}) { // common practice, no source
		t.Errorf("% X", found)
	}
}
