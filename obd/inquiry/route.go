package inquiry

import (
	"slices"

	"github.com/judder-obd/judder/obd"
)

// route is how all ECUs are asked. Behind some adapters nobody hears the functional address once
// AT SH has named it, though each ECU answers at its own (seen in an independent emulator of an
// adapter): silence from everybody then says nothing about the car.
type route uint8

const (
	routeUnknown    route = iota
	routeFunctional       // an ECU has answered at the functional address
	routeEach             // none did, and one has answered at its own
	routeApart            // each at its own, because replies to all come mixed and without headers
)

// everybody is how all ECUs are asked, and what was learnt for it.
type everybody struct {
	route route
	tried int // questions that were put to each ECU while the route was not known
	apart     // on routeApart
}

// eachMost is how many questions that bring silence are put to each ECU as well, before silence is
// believed.
const eachMost = 3

// AskAll asks every ECU of the legislated ones: one Answer for each that did, or one that says
// why there is none. Before silence from everybody is believed, each known ECU is asked at its own
// address. The error is the link's or the gate's.
func (q *Inquiry) AskAll(request string) ([]Answer, error) {
	switch q.all.route {
	case routeApart:
		return q.askApart(request)
	case routeEach:
		return q.askEach(request)
	}
	answers, err := q.askFunctional(request)
	switch {
	case err != nil:
		return nil, err
	case heard(answers):
		q.all.route = routeFunctional
		return answers, nil
	case q.all.route == routeFunctional, q.all.tried == eachMost, !q.named():
		return answers, nil
	}
	q.all.tried++
	each, err := q.askEach(request)
	if err != nil || !heard(each) {
		return answers, err
	}
	if again, err := q.askFunctional(request); err != nil || heard(again) { // the silence was a lost reply
		q.all.route = routeFunctional
		return again, err
	}
	q.all.route = routeEach
	return each, nil
}

func (q *Inquiry) askFunctional(request string) (answers []Answer, err error) {
	err = q.surviving(obd.Module{}, func() error {
		answers, err = q.ask(request, "")
		return err
	})
	return answers, err
}

// askEach asks each known ECU at its own address.
func (q *Inquiry) askEach(request string) (answers []Answer, err error) {
	for _, id := range slices.Sorted(slices.Values(q.ECUs())) {
		a, err := q.AskOne(obd.Module{Name: id, Request: obd.RequestAddress(id), Reply: id}, request)
		if err != nil {
			return nil, err
		}
		if a.Outcome != Silent {
			a.ECU = id
			answers = append(answers, a)
		}
	}
	if answers == nil {
		answers = []Answer{{Outcome: Silent}}
	}
	return answers, nil
}

// named reports whether ECUs are known by addresses at which each can be asked: on CAN, with
// headers.
func (q *Inquiry) named() bool {
	known := q.ECUs()
	return q.Capabilities().Form.CAN() && len(known) > 0 && !slices.Contains(known, "")
}

func heard(answers []Answer) bool {
	return slices.ContainsFunc(answers, func(a Answer) bool { return a.Outcome != Silent })
}
