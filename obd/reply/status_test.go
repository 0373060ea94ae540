package reply

import (
	"maps"
	"testing"

	"github.com/judder-obd/judder/obd"
)

// The texts of the ELM327 data sheet (pp. 87-90; start-up texts p. 33), of its sister chips'
// sheets (FB ERROR, LP ALERT), and what each calls for.
var publishedTexts = map[string]Action{
	"SEARCHING...": ActNothing, "BUS INIT: ...OK": ActNothing, "BUS INIT: OK": ActNothing, "BUS INIT: ...": ActNothing, "OK": ActNothing,
	"BUS INIT: ...ERROR": ActReopen, "BUS INIT: ERROR": ActReopen, "UNABLE TO CONNECT": ActReopen,
	"BUS ERROR": ActReopen, "CAN ERROR": ActReopen, "FB ERROR": ActReopen,
	"?": ActRefused, "NO DATA": ActCount,
	"<DATA ERROR": ActDrop, "DATA ERROR": ActDrop, "<RX ERROR": ActDrop,
	"BUS BUSY": ActAgain, "BUFFER FULL": ActAgain, "STOPPED": ActAgain, "ACT ALERT": ActAgain, "LP ALERT": ActAgain,
	"LV RESET": ActSetUp, "ERR": ActSetUp, "ELM": ActSetUp,
}

const bundleLine = "7E806410C1AF80D64"

// lineWith is a line with the status text where it stands.
func lineWith(s *Status) string {
	switch {
	case s.Place == Suffix:
		return bundleLine + s.Text
	case s.Place == Prefix && s.Action == ActNothing:
		return s.Text + bundleLine
	case s.Text == "ERR":
		return "ERR94"
	case s.Text == "ELM":
		return "ELM327 v1.5"
	}
	return s.Text
}

func TestStatus_EveryPublishedText(t *testing.T) {
	missing := maps.Clone(publishedTexts)
	for i := range Statuses {
		s := &Statuses[i]
		if want, known := publishedTexts[s.Text]; !known || s.Action != want || s.Means == "" {
			t.Errorf("%q: action %d, want %d; %q", s.Text, s.Action, want, s.Means)
		}
		line := lineWith(s)
		st, rest := StatusOf(line)
		if st != s {
			t.Errorf("%q is taken for %+v", line, st)
		}
		if carriesData := s.Place == Suffix || s.Place == Prefix && s.Action == ActNothing; (rest == bundleLine) != carriesData {
			t.Errorf("%q leaves %q", line, rest)
		}
		if w := Worst(&obd.Exchange{Lines: []obd.Line{{Text: "OK"}, {Text: " " + line + " "}, {Text: bundleLine}}}); w != s.Action {
			t.Errorf("%q calls for %d, want %d", line, w, s.Action)
		}
		delete(missing, s.Text)
	}
	if len(missing) != 0 {
		t.Errorf("not known: %v", missing)
	}
}

func TestStatus_DataIsNone(t *testing.T) {
	for _, line := range []string{"", bundleLine, "7E8 06 41 0C 1A F8 0D 64", "41 0C 1A F8", "0: 49 02 01 31 44 34", "NO DATA 41", "E", "BUS"} {
		if st, rest := StatusOf(line); st != nil || rest != line {
			t.Errorf("%q taken for %+v, rest %q", line, st, rest)
		}
	}
}
