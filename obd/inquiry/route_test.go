package inquiry

import (
	"strings"
	"testing"

	"github.com/judder-obd/judder/obd/obdtest"
)

// deaf is a car with two ECUs behind an adapter where nobody hears the functional address once AT
// SH has named it. asked are the requests to the car, with the header each went to.
func deaf(asked *[]string, own bool) *obdtest.BadAdapter {
	b, named := &obdtest.BadAdapter{}, false
	b.Strike = func(command string) []string {
		if strings.HasPrefix(command, "AT") {
			named = named || strings.HasPrefix(command, "ATSH")
		}
		return nil
	}
	b.Car = func(b *obdtest.BadAdapter, request string) (lines []string, prompt bool) {
		*asked = append(*asked, b.Header+"/"+request)
		for i, id := range []string{"7E8", "7E9"} {
			if b.Header == "7DF" && named || b.Header != "7DF" && b.Header != []string{"7E0", "7E1"}[i] || b.Filter != "" && b.Filter != id {
				continue
			}
			switch {
			case request == "03" && (own || b.Header == "7DF"):
				lines = append(lines, id+"044301074"+string("12"[i]))
			case request == "010C" && i > 0, request == "03":
			default:
				if line := b.Engine(id, request); line != "NO DATA" {
					lines = append(lines, line)
				}
			}
		}
		if lines == nil {
			lines = []string{"NO DATA"}
		}
		return lines, true
	}
	return b
}

// Silence from everybody is believed only when each known ECU is silent at its own address, too;
// once one has answered there, nobody waits for the silence again.
func TestInquiry_AskAllAtOwnAddresses(t *testing.T) {
	var asked []string
	inquireBad(t, deaf(&asked, true), func(q *Inquiry) error {
		for n := range 3 {
			asked = nil
			answers, err := q.AskAll("03")
			if got := outcomes(answers); got != "7E8 answered, 7E9 answered" {
				t.Errorf("question %d: %s", n, got)
			}
			if want := []string{"7DF/03 7E0/03 7E1/03 7DF/03", "7E0/03 7E1/03", "7E0/03 7E1/03"}[n]; strings.Join(asked, " ") != want {
				t.Errorf("question %d: asked %v, want %s", n, asked, want)
			}
			if err != nil {
				return err
			}
		}
		return nil
	})
}

// One lost reply to everybody does not stand for an adapter through which nobody hears that.
func TestInquiry_AskAllLostReply(t *testing.T) {
	lost := false
	b := &obdtest.BadAdapter{}
	b.Car = func(b *obdtest.BadAdapter, request string) ([]string, bool) {
		switch {
		case request == "03" && !lost:
			lost = true
			return []string{"NO DATA"}, true
		case request == "03":
			return []string{"7E8044301074" + "1"}, true
		}
		return []string{b.Engine("7E8", request)}, true
	}
	inquireBad(t, b, func(q *Inquiry) error {
		answers, err := q.AskAll("03")
		if got := outcomes(answers); got != "7E8 answered" || q.all.route != routeFunctional {
			t.Errorf("%s, route %d", got, q.all.route)
		}
		return err
	})
}

// ECUs that are silent at their own addresses as well are believed, and after some questions not
// asked there any more; a refusal at its own address is an answer.
func TestInquiry_AskAllBelievesSilence(t *testing.T) {
	var asked []string
	inquireBad(t, deaf(&asked, false), func(q *Inquiry) error {
		for n := range eachMost + 2 {
			asked = nil
			answers, err := q.AskAll("03")
			if got := outcomes(answers); got != "silent" {
				t.Errorf("question %d: %s", n, got)
			}
			if own := strings.Contains(strings.Join(asked, " "), "7E1/03"); own != (n < eachMost) {
				t.Errorf("question %d: asked %v", n, asked)
			}
			if err != nil {
				return err
			}
		}
		return nil
	})
}

// Where everybody hears the functional address, a question that all are silent to is put once.
func TestInquiry_AskAllFunctional(t *testing.T) {
	asked := 0
	b := &obdtest.BadAdapter{}
	b.Car = func(b *obdtest.BadAdapter, request string) ([]string, bool) {
		if request == "0A" {
			asked++
			return []string{"NO DATA"}, true
		}
		return []string{b.Engine("7E8", request)}, true
	}
	inquireBad(t, b, func(q *Inquiry) error {
		if _, err := q.AskAll("010C"); err != nil {
			return err
		}
		answers, err := q.AskAll("0A")
		if got := outcomes(answers); got != "silent" || asked != 1 {
			t.Errorf("%s, asked %d times", got, asked)
		}
		return err
	})
}
