package reply

import (
	"fmt"
	"slices"
	"time"

	"github.com/judder-obd/judder/obd"
	"github.com/judder-obd/judder/obd/isotp"
)

// source is one ECU as its lines name it.
type source struct {
	id   uint32
	form obd.Form
	name string

	frames isotp.Assembler
	made   []Part // of the message under way, lines of this exchange alone
	have   int    // bytes of the message under way
	wide   int    // frames that were padded to 8 bytes though shorter would have done, up to sure
	thin   int    // frames that were shorter than that and whole: two for each, one off for each padded

	at      time.Duration // of the latest frame
	wholeAt time.Duration // of the latest reply
	listed  bool          // it has reported what it supports
	whole   int           // replies in this second
	counted time.Duration // when that began
}

// sources are the ECUs that were heard.
type sources struct {
	all    []*source
	listed bool // some ECU has reported what it supports
}

// of is the ECU with this id.
func (s *sources) of(form obd.Form, id uint32) *source {
	for _, e := range s.all {
		if e.id == id && e.form == form {
			return e
		}
	}
	digits := map[obd.Form]int{obd.FormCAN11: 3, obd.FormCAN29: 8}[form]
	e := &source{id: id, form: form, name: fmt.Sprintf("%0*X", max(digits, 2), id)}
	s.all = append(s.all, e)
	return e
}

// replied takes note of a whole reply of an ECU.
func (s *sources) replied(e *source, at time.Duration, reply []byte) {
	if data := ParameterData(reply); data != nil && data[0]%0x20 == 0 {
		e.listed, s.listed = true, true
	}
	if at > e.counted+time.Second {
		e.whole, e.counted = 0, at
	}
	e.whole++
	e.wholeAt = at
}

// known reports whether there is such an ECU, as far as is seen: it has reported what it supports,
// or replies often. Where none has reported, all are believed. A line of CAN whose header has a
// wrong digit makes one up; the older buses have a check byte.
func (s *sources) known(e *source) bool {
	const often = 3 // replies within a second
	return !s.listed || e == nil || !e.form.CAN() || e.listed || e.whole >= often
}

// unfinished reports whether a reply of which a frame came since then is not whole yet. It appends
// the ECUs of which something came since then, and nothing whole.
func (s *sources) unfinished(since time.Duration, ecus []string) (yes bool, partsOnly []string) {
	for _, e := range s.all {
		if e.at < since {
			continue
		}
		yes = yes || e.frames.Pending()
		if e.wholeAt < since {
			ecus = append(ecus, e.name)
		}
	}
	return yes, ecus
}

// Heard reports whether anything ever came from a reply address.
func (d *Decoder) Heard(address string) bool {
	return slices.ContainsFunc(d.sources.all, func(e *source) bool { return e.name == address })
}

// KnownECUs are the ECUs that have reported what they support.
func (d *Decoder) KnownECUs() (names []string) {
	for _, e := range d.sources.all {
		if e.listed {
			names = append(names, e.name)
		}
	}
	return names
}

// Unknown reports whether a reply is of an ECU that is not known to be there.
func (d *Decoder) Unknown(m Message) bool { return !d.sources.known(m.from) }

// push takes a frame of CAN, and keeps which part of the message under way it is. It returns the
// message when that is whole.
func (e *source) push(o origin, text string, f *frame) (whole []byte, err error) {
	const first, consecutive = 1, 2
	kind, control := f.bytes[0]>>4, 1
	whole, err = e.frames.Push(f.bytes)
	nothing := whole == nil && !e.frames.Pending()
	if nothing || kind < consecutive {
		e.made, e.have = e.made[:0], 0
	}
	if nothing || kind > consecutive {
		return nil, err
	}
	if kind == first {
		control = 2
	}
	part := o.part(text, f, control, e.have)
	if whole != nil {
		part.To = len(whole)
	}
	e.made, e.have = append(e.made, part), part.To
	return whole, err
}

// narrowed reports whether a frame is narrower than this ECU's frames always were. Frames on
// OBD CAN are 8 bytes wide; adapters show them so, or cut at the length. Either is taken, and
// either by turns where that goes on; but a rare change from 8 to fewer is a line that lost
// characters.
func (e *source) narrowed(b []byte) bool {
	const (
		sure  = 3 // so many padded frames show the habit
		habit = 5 // so much thin shows another: three in a row, or by turns for a while
	)
	if len(b) == 8 {
		if b[0] < 7 {
			e.wide, e.thin = min(e.wide+1, sure), max(e.thin-1, 0)
		}
		return false
	}
	if b[0] > 7 || len(b) != 1+int(b[0]) {
		return b[0] <= 7 || e.wide >= sure
	}
	if e.wide >= sure {
		e.thin = min(e.thin+2, 2*habit)
	}
	return e.wide >= sure && e.thin <= habit
}
