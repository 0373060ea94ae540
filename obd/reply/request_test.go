package reply

import (
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
