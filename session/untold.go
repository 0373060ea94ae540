package session

import (
	"fmt"
	"slices"
	"strconv"
	"strings"
	"time"

	"judder/obd"
	"judder/obd/reply"
	"judder/pids"
	"judder/pids/refusal"
	"judder/pids/vehicle"
)

// Untold is a parameter that the vehicle profile names and the car does not tell.
type Untold struct {
	Signal     pids.Signal
	Name       string
	Module     string // request address, as in the profile
	Identifier uint16
	Asked      int           // times in the whole drive
	Since      time.Duration // of the first request in vain
	Refusal    byte          // negative response code of ISO 14229-1; 0 where it was not refused
	Why, Todo  string        // in few words: "the car refused it (7F 22 31)", and what can be done
}

// untoldWay is in what way a parameter stayed untold.
type untoldWay uint8

const (
	wayTold untoldWay = iota
	wayRefused
	waySilent
	wayStopped  // it answered before
	wayMisfits  // it answers something else than the profile describes
	wayNotAsked // too short a drive
	wayNoWay    // nothing can be asked of one computer alone
)

var untoldWords = [...]struct{ why, todo string }{
	wayRefused:  {"the car refused it", "check module and identifier in the profile"},
	waySilent:   {"never answered", "check module and identifier in the profile"},
	wayStopped:  {"no longer answered", "the car may need another state for it"},
	wayMisfits:  {"the answer does not fit the profile", "check first_byte and bytes in the profile"},
	wayNotAsked: {"not asked before the drive ended", "drive longer"},
	wayNoWay:    {"not possible with this bus or adapter", "another adapter may do it, where the bus is CAN"},
}

// outOfRange is the refusal of an identifier that the computer does not have (ISO 14229-1).
const outOfRange = 0x31

// words say why it was not read, and what a refusal means and can be done about it.
func (p *parameterWatch) words() (why, todo string) {
	w := untoldWords[p.way]
	if p.way != wayRefused {
		return w.why, w.todo
	}
	todo = strings.TrimSuffix(refusal.Text(p.Refusal), fmt.Sprintf(" (%02X)", p.Refusal))
	if means, what, _ := strings.Cut(todo, "; "); p.Refusal == outOfRange || what == "" {
		todo = means + "; " + w.todo
	}
	return fmt.Sprintf("%s (7F 22 %02X)", w.why, p.Refusal), todo
}

// untoldAfter is how many requests in a row must have been in vain, each while the car answered
// others, before that is told of a drive that goes on.
const untoldAfter = 3

// untoldWatch follows what the profile's parameters are asked and answered, from the exchanges:
// a recording tells it as well as the drive.
type untoldWatch struct {
	decoder    reply.Decoder // of the profile's exchanges alone
	parameters []parameterWatch
	header     string // whom the adapter asks
	heard      bool   // the request before, for the standard's parameters, was answered
	read       bool   // the car has been read
	form       obd.Form
	finished   bool
}

type parameterWatch struct {
	Untold
	way    untoldWay
	missed int // times in a row
	read   int
}

func newUntoldWatch(profile *vehicle.Profile) *untoldWatch {
	w := &untoldWatch{decoder: reply.Decoder{Profile: profile}}
	if profile == nil {
		return w
	}
	for i := range profile.Parameters {
		p := &profile.Parameters[i]
		w.parameters = append(w.parameters, parameterWatch{Untold: Untold{Signal: p.Signal, Name: p.Name, Module: p.Module, Identifier: p.Identifier}})
	}
	return w
}

// readings takes the readings of any entry.
func (w *untoldWatch) readings(samples []pids.Sample) {
	for i := range w.parameters {
		for k := range samples {
			if p := &w.parameters[i]; samples[k].Signal == p.Signal {
				p.read++
				p.missed, p.way = 0, wayTold
			}
		}
	}
}

// exchange takes an exchange with the readings it brought.
func (w *untoldWatch) exchange(x *obd.Exchange, samples []pids.Sample) {
	if len(w.parameters) == 0 {
		return
	}
	w.readings(samples)
	switch {
	case strings.HasPrefix(x.Request, "ATSH"):
		w.header = x.Request[len("ATSH"):]
	case !isRequest(x.Request):
	case w.parameter(x, samples):
	default:
		if w.heard = len(samples) > 0; w.heard {
			w.read, w.form = true, x.Form
		}
	}
}

// parameter books a request of service 22 for what the profile names; false for any other.
func (w *untoldWatch) parameter(x *obd.Exchange, samples []pids.Sample) bool {
	const digits = len("22F190")
	if len(x.Request) < digits || x.Request[:2] != "22" {
		return false
	}
	identifier, err := strconv.ParseUint(x.Request[2:digits], 16, 16)
	if err != nil {
		return false
	}
	way, refusal := w.answer(x)
	asked := false
	for i := range w.parameters {
		p := &w.parameters[i]
		if uint64(p.Identifier) != identifier || !strings.EqualFold(p.Module[max(0, len(p.Module)-6):], w.header) {
			continue
		}
		asked = true
		p.Asked++
		told := slices.ContainsFunc(samples, func(s pids.Sample) bool { return s.Signal == p.Signal })
		if !told && (way != waySilent || w.heard) { // in an outage all are silent
			p.missedAt(x.Sent, way, refusal)
		}
	}
	return asked
}

// answer is what a request that brought no reading was answered with.
func (w *untoldWatch) answer(x *obd.Exchange) (way untoldWay, refusal byte) {
	way = waySilent
	for _, m := range w.decoder.Messages(x) {
		if code, refused := m.Negative(); refused {
			way, refusal = wayRefused, code
			continue
		}
		return wayMisfits, 0
	}
	return way, refusal
}

// missedAt books a request in vain.
func (p *parameterWatch) missedAt(at time.Duration, way untoldWay, refusal byte) {
	if p.missed == 0 {
		p.Since = at
	}
	if way == waySilent && p.read > 0 {
		way = wayStopped
	}
	p.missed++
	p.way, p.Refusal = way, refusal
}

// list is what stayed untold so far: what was asked in vain several times, and once the drive is
// over what was never read at all.
func (w *untoldWatch) list() (list []Untold) {
	if !w.read {
		return nil
	}
	for i := range w.parameters {
		p := w.parameters[i]
		switch {
		case p.missed >= untoldAfter, w.finished && p.read == 0 && p.missed > 0:
		case p.Asked+p.read > 0:
			continue
		case !w.form.CAN():
			p.way = wayNoWay
		case w.finished:
			p.way = wayNotAsked
		default:
			continue
		}
		p.Why, p.Todo = p.words()
		list = append(list, p.Untold)
	}
	return list
}
