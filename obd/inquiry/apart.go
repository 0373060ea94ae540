package inquiry

import (
	"fmt"

	"github.com/judder-obd/judder/obd"
	"github.com/judder-obd/judder/obd/reply"
	"github.com/judder-obd/judder/pids"
)

// Where an adapter hides the headers, replies of several ECUs come mixed. On 11-bit CAN they are
// told apart all the same: ISO 15765-4 has eight addresses for them, and at each of these one reply
// proves one ECU.

// apart are the ECUs that are asked one by one, because their replies come without headers.
type apart struct {
	order []obd.Module
	maps  map[string]*pids.SupportMap // of service 01, by reply address
}

// ownAddresses is how many ECUs ISO 15765-4 has addresses for: 7E0 to 7E7.
const ownAddresses = 8

// Separate tells ECUs apart whose replies come without headers, where that can be done; AskAll then
// asks each of them by itself. Mixed reports whether it was not. The error is the link's.
func (q *Inquiry) Separate() error {
	if q.all.route == routeApart {
		q.all = everybody{}
	}
	if !q.Mixed() || q.conn.Car().Hidden() != obd.FormCAN11 {
		return nil
	}
	var found *apart
	err := q.surviving(obd.Module{}, func() (err error) {
		found, err = q.separate()
		return err
	})
	if err == nil && found != nil {
		q.all.route, q.all.apart = routeApart, *found
	}
	return err
}

// Mixed reports whether several ECUs answer at once and nothing shows which of them does.
func (q *Inquiry) Mixed() bool {
	return q.Capabilities().Form == obd.FormBare && q.conn.Car().Several() && q.all.route != routeApart
}

// separate finds the ECUs; nil where they are not all found, or do not answer alone.
func (q *Inquiry) separate() (*apart, error) {
	count := 0
	for range 2 { // a reply may be lost
		answers, _, err := q.once(q.Parameters(0), "")
		if err != nil {
			return nil, err
		}
		if heard(answers) {
			count = max(count, len(answers))
		}
	}
	out := &apart{maps: map[string]*pids.SupportMap{}}
	for n := range ownAddresses {
		request := fmt.Sprintf("7E%d", n)
		m := obd.Module{Request: request, Reply: obd.ReplyAddress(request)}
		supported, err := q.oneAnswers(m)
		if err != nil {
			return nil, err
		}
		if supported != nil {
			out.order = append(out.order, m)
			out.maps[m.Reply] = supported
		}
	}
	if len(out.order) < 2 || len(out.order) != count { // more: whoever is asked, one and the same answers
		return nil, q.everybody()
	}
	return out, q.everybody()
}

// oneAnswers is what the ECU at an address supports; nil where none answers there, or another as well.
func (q *Inquiry) oneAnswers(m obd.Module) (*pids.SupportMap, error) {
	supported := &pids.SupportMap{}
	for base := 0; base < 0xE0; base += 0x20 {
		if base > 0 && !supported.Has(byte(base)) {
			break
		}
		answers, err := q.askAlone(m, q.Parameters(byte(base)))
		if err != nil {
			return nil, err
		}
		if base == 0 && (len(answers) != 1 || answers[0].Outcome != Answered) {
			return nil, nil
		}
		if d := reply.ParameterData(answers[0].Data); len(answers) == 1 && len(d) == 5 && d[0] == byte(base) {
			if err := supported.Add(byte(base), d[1:]); err != nil {
				return nil, err
			}
		}
	}
	return supported, nil
}

// askAlone asks one ECU whose replies come without headers, and gives them its name.
func (q *Inquiry) askAlone(m obd.Module, request string) ([]Answer, error) {
	if err := q.conn.Address().Ask(m.Request); err != nil {
		return nil, err
	}
	answers, err := q.ask(request, "")
	for i := range answers {
		if answers[i].Outcome != Silent {
			answers[i].ECU = m.Reply
		}
	}
	return answers, err
}

// askApart asks each ECU by itself.
func (q *Inquiry) askApart(request string) (all []Answer, err error) {
	err = q.surviving(obd.Module{}, func() error {
		all = nil
		for _, m := range q.all.order {
			answers, err := q.askAlone(m, request)
			if err != nil {
				return err
			}
			if heard(answers) {
				all = append(all, answers...)
			}
		}
		return q.everybody()
	})
	if all == nil {
		all = []Answer{{Outcome: Silent}}
	}
	return all, err
}

// everybody has the adapter ask all ECUs again.
func (q *Inquiry) everybody() error {
	return q.conn.Address().Ask(obd.Everybody(q.conn.Car().Hidden()))
}
