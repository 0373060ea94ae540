package inquiry

import (
	"slices"
	"strings"
	"testing"

	"github.com/judder-obd/judder/obd"
	"github.com/judder-obd/judder/obd/obdtest"
)

// hidden is a car with two ECUs behind an adapter that shows no headers. heard are the ECUs that
// hear a request, by the header that it goes to.
func hidden(heard func(header string) []string) *obdtest.BadAdapter {
	b := &obdtest.BadAdapter{Bare: true}
	replies := map[string][2]string{
		"0100": {"410080180001", "410080000001"}, "0120": {"412000000001", "412000000000"}, "0140": {"414000000000"}, "010C": {"410C0FA0"},
		"03": {"43010741", "4300"},
	}
	b.Car = func(b *obdtest.BadAdapter, request string) (lines []string, prompt bool) {
		for _, id := range heard(b.Header) {
			if line := replies[request][strings.Index("89", id[2:])]; line != "" {
				lines = append(lines, line)
			}
		}
		if lines == nil {
			lines = []string{"NO DATA"}
		}
		return lines, true
	}
	return b
}

// Where headers are hidden each ECU is asked alone at its address (ISO 15765-4: 7E0 to 7E7), proved
// by one reply; its replies then have its name.
func TestInquiry_Separate(t *testing.T) {
	own := map[string][]string{"7DF": {"7E8", "7E9"}, "7E0": {"7E8"}, "7E1": {"7E9"}}
	inquireBad(t, hidden(func(header string) []string { return own[header] }), func(q *Inquiry) error {
		if !q.Mixed() {
			t.Error("their replies come mixed")
		}
		if err := q.Separate(); err != nil || q.Mixed() || !slices.Equal(q.ECUs(), []string{"7E8", "7E9"}) {
			t.Errorf("%v, mixed %v, %q", err, q.Mixed(), q.ECUs())
		}
		if !q.Supports("7E8", obd.EngineSpeed) || q.Supports("7E9", obd.EngineSpeed) || !q.Supports("7E8", 0x40) || q.Supports("7E9", 0x40) {
			t.Error("what each supports is not its own")
		}
		answers, err := q.AskAll("03")
		if got := outcomes(answers); got != "7E8 answered, 7E9 answered" || len(answers[0].Data) != 4 || len(answers[1].Data) != 2 {
			t.Errorf("%s %X %X", got, answers[0].Data, answers[1].Data)
		}
		if err != nil {
			return err
		}
		if answers, err = q.AskAll("0A"); outcomes(answers) != "silent" {
			t.Errorf("%s", outcomes(answers))
		}
		return err
	})
}

// An adapter that asks everybody whatever it is told, one that hears nobody at an address of its
// own, and a car with an ECU at another address: there nothing is told apart.
func TestInquiry_SeparateFails(t *testing.T) {
	both := []string{"7E8", "7E9"}
	for name, heard := range map[string]func(header string) []string{
		"all hear all":         func(string) []string { return both },
		"nobody hears his own": func(header string) []string { return map[string][]string{"7DF": both}[header] },
		"one is elsewhere":     func(header string) []string { return map[string][]string{"7DF": both, "7E0": {"7E8"}}[header] },
		"two at one": func(header string) []string {
			return map[string][]string{"7DF": both, "7E0": both, "7E1": {"7E9"}}[header]
		},
	} {
		inquireBad(t, hidden(heard), func(q *Inquiry) error {
			err := q.Separate()
			if !q.Mixed() || !slices.Equal(q.ECUs(), []string{""}) {
				t.Errorf("%s: mixed %v, %q", name, q.Mixed(), q.ECUs())
			}
			answers, asked := q.AskAll("03")
			if got := outcomes(answers); got != "answered, answered" || asked != nil {
				t.Errorf("%s: everybody is asked again: %s %v", name, got, asked)
			}
			return err
		})
	}
}

// An ECU that answered twice at set-up, behind an adapter that asks everybody whatever it is told, is
// not eight ECUs with the same codes.
func TestInquiry_SeparateOneIsNotEight(t *testing.T) {
	b := hidden(func(string) []string { return []string{"7E8"} })
	once := b.Car
	b.Car = func(b *obdtest.BadAdapter, request string) ([]string, bool) {
		lines, prompt := once(b, request)
		if request == "0100" && b.Header == "7DF" && b.Asked <= 8 {
			lines = append(lines, "410080180000")
		}
		return lines, prompt
	}
	mixed := false
	inquireBad(t, b, func(q *Inquiry) error {
		mixed = q.Mixed()
		err := q.Separate()
		if !slices.Equal(q.ECUs(), []string{""}) {
			t.Errorf("one ECU became %q", q.ECUs())
		}
		return err
	})
	if !mixed {
		t.Error("it did not answer twice")
	}
}

// One ECU alone needs no name, and headers need no separation.
func TestInquiry_SeparateNeedless(t *testing.T) {
	for name, b := range map[string]*obdtest.BadAdapter{
		"one ECU": hidden(func(header string) []string { return map[string][]string{"7DF": {"7E8"}, "7E0": {"7E8"}}[header] }),
		"headers": {Car: func(b *obdtest.BadAdapter, request string) ([]string, bool) {
			return []string{b.Engine("7E8", request), b.Engine("7E9", request)}, true
		}},
	} {
		inquireBad(t, b, func(q *Inquiry) error {
			if q.Mixed() {
				t.Errorf("%s: mixed", name)
			}
			return q.Separate()
		})
	}
}
