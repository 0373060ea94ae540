// Package reply reads what an adapter puts out: lines of text become frames, frames whole
// replies of an ECU, and replies readings. It is pure: no clock, no link.
package reply

import (
	"github.com/judder-obd/judder/obd"
	"github.com/judder-obd/judder/pids"
	"github.com/judder-obd/judder/pids/vehicle"
)

// Counts are what the decoder made of the lines so far.
type Counts struct {
	Messages int // whole replies to something that was asked
	Late     int // of those, replies to an earlier request
	Damaged  int // lines dropped because they are not whole
	Unasked  int // whole replies to nothing that was asked
	Nameless int // of the damaged lines, those that do not show whose they are
}

// Decoder turns exchanges into messages, readings and outcomes. It keeps what outlives an
// exchange: messages that are being put together, how wide each ECU's frames are, and what was
// asked last, so that a late reply finds its request. Live and replayed drives go through the
// same code.
type Decoder struct {
	Counts  Counts
	Profile *vehicle.Profile // what this car can report beyond the standard; nil for nothing

	sources   sources
	addresses addresses
	recent    recent
	bare      bareReply

	decoded Decoded // of the latest exchange; what follows holds its bytes
	arena   []byte
	made    []Part
	parts   []pids.Part
	values  []pids.Value
}

// Decode takes an exchange apart: its messages, the readings in them, and what became of the
// request. Mixed replies give no readings: nobody knows whose they are. The result and all that
// is in it are valid until the next call. Nothing is allocated for an exchange whose like was
// seen before.
func (d *Decoder) Decode(x *obd.Exchange) *Decoded {
	before, out, request := d.Counts, &d.decoded, ParseRequest(x.Request)
	if request.ToCar() {
		d.recent.add(request, x.Sent)
	} else {
		d.listens(x.Request)
	}
	d.lines(x, &request)
	out.Lines = len(x.Lines)
	out.Damaged = d.Counts.Damaged - before.Damaged
	out.Nameless = d.Counts.Nameless - before.Nameless
	out.Unasked = d.Counts.Unasked - before.Unasked
	out.Unfinished, out.PartsOnly = d.sources.unfinished(x.Sent, out.PartsOnly[:0])
	out.conclude(request.ToCar(), x.Form)
	out.Samples = out.Samples[:0]
	if out.Outcome != OutcomeMixed {
		out.Samples = d.samples(out.Samples, out.Messages)
	}
	out.Misfits = d.Counts.Damaged - before.Damaged - out.Damaged
	return out
}

// lines takes the lines of an exchange.
func (d *Decoder) lines(x *obd.Exchange, request *Request) {
	d.arena, d.made, d.decoded.Messages = d.arena[:0], d.made[:0], d.decoded.Messages[:0]
	for _, e := range d.sources.all {
		e.made = e.made[:0]
	}
	for i := range x.Lines {
		if i+1 < len(x.Lines) && overrun(x.Lines[i+1].Text) {
			d.Counts.Damaged++
			continue
		}
		d.line(x, request, i)
	}
	if d.bare.drop() {
		d.Counts.Damaged++
	}
}

// parse takes a line apart; its bytes last as long as the exchange.
func (d *Decoder) parse(form obd.Form, text string) (f frame, ok bool) {
	f, d.arena, ok = parseFrame(d.arena, form, text)
	return f, ok
}

// keep copies bytes so that they last as long as the exchange.
func (d *Decoder) keep(b []byte) []byte {
	n := len(d.arena)
	d.arena = append(d.arena, b...)
	return d.arena[n:]
}

// keepParts is keep for parts.
func (d *Decoder) keepParts(parts ...Part) []Part {
	n := len(d.made)
	d.made = append(d.made, parts...)
	return d.made[n:len(d.made):len(d.made)]
}
