package adapter

import (
	"fmt"
	"strings"

	"github.com/judder-obd/judder/obd"
	"github.com/judder-obd/judder/obd/elm"
	"github.com/judder-obd/judder/obd/reply"
	"github.com/judder-obd/judder/prose"
)

// ways are how the car is looked for, in turn: by the adapter's own search (AT TP 0), and where
// that fails by each protocol's number, CAN first, as on all cars of the last years, then the
// older buses.
var ways = []string{
	"ATTP0", "ATTP6", "ATTP7", "ATTP0", "ATTP8", "ATTP9", "ATTP0", "ATTP5", "ATTP4", "ATTP0", "ATTP3", "ATTP2", "ATTP1",
}

// canProtocols are the numbers of those on CAN, on which a car may follow SAE J1979-2.
const canProtocols = "6789"

// search finds the car.
type search struct {
	*settings
	found    string // the protocol by which the car answered last, by its number
	nameless bool   // headers were asked for once more already
}

// findCar asks the car what it supports until it answers.
func (s *search) findCar() error {
	odd := false // something answered that cannot be read
	for try := 0; ; try++ {
		way := s.way(try)
		if try > 0 && (way == ways[0] || way == "ATTP"+s.found) { // one protocol alone fails soon
			s.Rest(pauseCar)
		}
		if try > 0 || way != ways[0] { // that is among the settings
			if _, _, err := s.Do(way, elm.WaitSetting); err != nil {
				return err
			}
		}
		x, err := s.askBothWays(way)
		if err != nil {
			return err
		}
		if s.can.Form != obd.FormUnknown {
			return s.headersShown()
		}
		if reply.Worst(&x) == reply.ActSetUp {
			s.Report(obd.LinkAdapter, obd.CauseCannotAsk, "the adapter cannot ask the car"+reply.Why(&x, reply.ActSetUp)+"; setting it up again")
			s.Rest(pauseCar)
			return ErrSetUp
		}
		if x.Ending == obd.EndSilence {
			return because(obd.CauseSilent, fmt.Errorf("the adapter on %s went silent while looking for the car", s.name))
		}
		cause, text := CarSilent(&x)
		if answers := cause == obd.CauseUnreadable; answers || !odd { // what other ways bring says less
			odd = answers
			s.Report(obd.LinkAdapter, cause, text)
		}
	}
}

// askBothWays asks for the first support map by SAE J1979, and on CAN by SAE J1979-2 where nobody
// answers that. The exchange is the one that says more of the adapter.
func (s *search) askBothWays(way string) (obd.Exchange, error) {
	x, _, err := s.Do("0100", elm.WaitSearch)
	if err != nil || s.can.Form != obd.FormUnknown || reply.Worst(&x) == reply.ActSetUp || !strings.Contains(canProtocols, way[len("ATTP"):]) {
		return x, err
	}
	y, _, err := s.Do("22F400", elm.WaitReply)
	s.can.Successor = s.can.Form != obd.FormUnknown
	if reply.Worst(&y) == reply.ActSetUp {
		return y, err
	}
	return x, err
}

// way is how the car is looked for at a try: by turns, but mostly by the protocol by which it
// answered before.
func (s *search) way(try int) string {
	const others = 10 // one try in so many goes another way then: it may be another car
	switch {
	case s.found == "":
		return ways[try%len(ways)]
	case try%others < others-1:
		return "ATTP" + s.found
	}
	return ways[try/others%len(ways)]
}

// headersShown is ErrSetUp, once, for an adapter that said OK to headers and shows none: it may have
// started again without a word.
func (s *search) headersShown() error {
	if s.can.Form != obd.FormBare {
		s.nameless = false
	}
	if s.can.Form != obd.FormBare || s.refused["ATH1"] || s.nameless {
		return nil
	}
	s.nameless = true
	return s.SetUpAgain(obd.CauseForgot, "the adapter shows no headers, though it was set to; setting it up again")
}

// CarSilent is what an exchange shows of a car that did not answer the usual request.
func CarSilent(x *obd.Exchange) (obd.Cause, string) {
	for _, l := range x.Lines {
		if st, rest := reply.StatusOf(strings.TrimSpace(l.Text)); st != nil && rest == "" && st.Action > reply.ActDrop {
			return obd.CauseCarSilent, "the adapter answers, the car does not (" + st.Text + ": " + st.Means + ")"
		}
	}
	for _, l := range x.Lines {
		if text := strings.TrimSpace(l.Text); reply.FromCar(text) {
			return obd.CauseUnreadable, fmt.Sprintf("something answers in a form that cannot be read (%.30s); another adapter may help", prose.Clean(text))
		}
	}
	return obd.CauseCarSilent, "the adapter answers, the car does not; switch the ignition on"
}
