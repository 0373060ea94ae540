package inquiry

import (
	"errors"
	"time"

	"github.com/judder-obd/judder/obd"
	"github.com/judder-obd/judder/obd/adapter"
	"github.com/judder-obd/judder/obd/elm"
	"github.com/judder-obd/judder/obd/reply"
	"github.com/judder-obd/judder/obd/traffic"
)

// Whether this socket shows more of the bus than diagnostics is found out by listening. Nothing is
// transmitted meanwhile: the protocol is fixed and proved by a reply before, and one ordinary request
// proves after it that adapter and car are as they were.

// Hearing is what came of listening to the bus.
type Hearing uint8

// The outcomes.
const (
	NotListened    Hearing = iota // the examination ended before
	HearsTraffic                  // frames beyond diagnostics, and the filter keeps back what it should
	HearsNothing                  // no frame beyond diagnostics in two rounds
	NotOnCAN                      // an older bus
	HidesIDs                      // the adapter shows no headers
	NotFixed                      // the protocol could not be fixed, or the car did not answer by it
	NoCommands                    // the adapter does not know AT MA, AT CM or AT CF
	OnlySaysOK                    // it says OK, or ends by itself, and does not listen
	IgnoresFilters                // it shows ids that the filter should keep back
	Overflows                     // its buffer was full in every slice with anything in it
	Unproved                      // an id that was there did not pass its own filter: a bad filter, or the bus went quiet
	StopsLate                     // its prompt came too late after the character that stops it
	LostListening                 // adapter or link were lost
)

// BusTraffic is what this socket showed beyond diagnostics.
type BusTraffic struct {
	Hearing Hearing
	traffic.Sum
	Cut         bool // some slices were cut short by a full buffer: there may be more
	EngineStood bool // engine speed was zero: some cars are quiet then
}

const (
	sliceFor    = 250 * time.Millisecond // how long each slice is listened to at a time
	rounds      = 2
	promptsSoon = 300 * time.Millisecond // from the character that stops it to the prompt
	lateMost    = 1                      // prompts that may be later: a radio link may lose a packet
)

// FastEnough is a rate, a second: an id that comes more often may carry what moves as the engine does.
const FastEnough = 15

// listener listens to the bus.
type listener struct {
	monitor *adapter.Monitor
	form    obd.Form
	tally   traffic.Tally
	late    int // prompts that came too late
}

// listen finds out what the socket shows. The error is elm.ErrOver; an adapter that fails at
// listening, or is lost, is an outcome.
func (q *Inquiry) listen() (BusTraffic, error) {
	can := q.conn.Can()
	switch {
	case can.Slow:
		return BusTraffic{Hearing: NotOnCAN}, nil
	case !can.Form.CAN():
		return BusTraffic{Hearing: HidesIDs}, nil
	}
	l := listener{monitor: q.conn.Monitor(), form: can.Form, tally: traffic.Tally{Form: can.Form, Fast: FastEnough}}
	out := BusTraffic{}
	got, ok, err := l.monitor.Begin()
	if got != nil {
		out.EngineStood = ok && q.conn.Car().Support().Has(obd.EngineSpeed) && engineBytes(got) == standing
	}
	switch {
	case err == nil && ok:
		out.Hearing, err = l.all()
	case err == nil:
		out.Hearing = NotFixed
	}
	if err == nil {
		err = l.monitor.End()
	}
	if err != nil {
		if errors.Is(err, elm.ErrOver) {
			return out, err
		}
		out.Hearing = LostListening
		if err = q.restore(err); errors.Is(err, elm.ErrOver) {
			return out, err
		}
		return out, nil // what was found out before is not lost with the adapter
	}
	out.Sum, out.Cut = l.tally.Sum(), l.tally.Full > 0
	return out, nil
}

// all listens to every slice, and proves the filter.
func (l *listener) all() (Hearing, error) {
	for range rounds {
		for _, s := range traffic.Slices(l.form) {
			if _, failed, err := l.hear(s); err != nil || failed != NotListened {
				return failed, err
			}
		}
		switch {
		case l.tally.Ignored():
			return IgnoresFilters, nil
		case l.tally.Overflows():
			return Overflows, nil
		}
	}
	return l.prove()
}

// prove has the filter let a present id alone pass, and nothing for an absent one.
func (l *listener) prove() (Hearing, error) {
	present, some := l.tally.Busiest()
	for _, step := range []struct {
		id    uint32
		there bool
	}{{present, true}, {l.tally.Absent(), false}} {
		if step.there && !some {
			continue
		}
		h, failed, err := l.listenTo(traffic.One(l.form, step.id))
		switch {
		case err != nil || failed != NotListened:
			return failed, err
		case len(h.Outside) > 0, !step.there && len(h.Frames) > 0:
			return IgnoresFilters, nil
		case step.there && len(h.Frames) == 0:
			return Unproved, nil
		}
	}
	if l.tally.Sum().IDs == 0 {
		return HearsNothing, nil
	}
	return HearsTraffic, nil
}

// hear listens to a slice and counts what it brings.
func (l *listener) hear(s traffic.Slice) (h traffic.Heard, failed Hearing, err error) {
	h, failed, err = l.listenTo(s)
	if err == nil && failed == NotListened {
		l.tally.Add(s, h)
	}
	return h, failed, err
}

// listenTo listens to a slice; failed is NotListened where that went as it should.
func (l *listener) listenTo(s traffic.Slice) (h traffic.Heard, failed Hearing, err error) {
	if ok, err := l.monitor.Filter(s.Filter()); err != nil || !ok {
		return h, NoCommands, err
	}
	m, err := l.monitor.Hear(sliceFor)
	if errors.As(err, new(*elm.RefusedError)) { // it is not sure any more that nothing is sent
		return h, NotFixed, nil
	} else if err != nil {
		return h, LostListening, err
	}
	h = traffic.Hear(l.form, s, m.Lines, m.Listened())
	if h.Full {
		h.For = sliceFor // so that no more frames a second are counted than there are
	}
	if m.Stopped > 0 && m.Done-m.Stopped > promptsSoon {
		l.late++
	}
	switch worst, frames := reply.Worst(&m.Exchange), len(h.Frames)+len(h.Outside); {
	case worst == reply.ActSetUp:
		return h, LostListening, adapter.ErrSetUp
	case m.Ending == obd.EndSilence, l.late > lateMost:
		return h, StopsLate, nil
	case worst == reply.ActRefused:
		return h, NoCommands, nil
	case frames == 0 && reply.Says(&m.Exchange, "OK"), m.Stopped == 0 && !h.Full:
		return h, OnlySaysOK, nil
	}
	return h, NotListened, nil
}
