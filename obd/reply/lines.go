package reply

import (
	"strings"
	"time"
	"unicode"

	"github.com/judder-obd/judder/obd"
)

// overrun reports whether a line says that the adapter ran out of room: the line before it is
// then cut off somewhere.
func overrun(text string) bool { return strings.TrimSpace(text) == "BUFFER FULL" }

// line takes a line for a status text, for a frame, or for a reply that lost its header.
func (d *Decoder) line(x *obd.Exchange, request *Request, i int) {
	o := origin{i, x.Lines[i].At, len(strings.TrimRightFunc(x.Lines[i].Text, unicode.IsSpace))}
	text := strings.TrimSpace(x.Lines[i].Text)
	if text == x.Request {
		return // an echo that could not be switched off
	}
	st, rest := StatusOf(text)
	if st != nil {
		if st.Action == ActDrop {
			d.Counts.Damaged++
			d.nameDamaged(x.Form, o.at, rest)
			return
		}
		if text = rest; text == "" || st.Action != ActNothing {
			return
		}
	}
	if x.Form == obd.FormBare {
		d.bareLine(request, o, text)
		return
	}
	if x.Form != obd.FormUnknown {
		if f, ok := d.parse(x.Form, text); ok && (x.Form != obd.FormCAN11 || d.expects(f.id)) {
			d.frame(x.Form, o, text, &f)
			return
		}
	}
	if !d.headerLost(o, text) && request.ToCar() { // the adapter's own answers are no frames
		d.Counts.Damaged++
		d.Counts.Nameless++
	}
}

// nameDamaged notes whose a damaged line is, where its beginning shows that.
func (d *Decoder) nameDamaged(form obd.Form, at time.Duration, text string) {
	f, ok := d.parse(form, strings.TrimSpace(text))
	if !ok || !form.CAN() || form == obd.FormCAN11 && !d.expects(f.id) {
		d.Counts.Nameless++
		return
	}
	d.sources.of(form, f.id).at = at
}

// headerLost takes a reply that an adapter put out after it had lost its settings, headers off.
// It must answer what was asked last to the letter; whose it is cannot be known.
func (d *Decoder) headerLost(o origin, text string) bool {
	f, ok := d.parse(obd.FormBare, text)
	if !ok || len(f.bytes) < 2 || len(f.bytes) > obd.MaxRequestBytes || f.bytes[0] == negative {
		return false
	}
	request, late := d.recent.answered(o.at, f.bytes)
	if request == nil {
		return false
	}
	d.accept(Message{At: o.at, Data: f.bytes, Parts: d.keepParts(o.part(text, &f, 0, 0)), Bare: true, Late: late}, request)
	return true
}

// frame takes a line of an ECU that shows its name.
func (d *Decoder) frame(form obd.Form, o origin, text string, f *frame) {
	e := d.sources.of(form, f.id)
	e.at = o.at
	data := f.bytes
	if form.CAN() {
		if e.narrowed(f.bytes) {
			d.Counts.Damaged++
			return
		}
		whole, err := e.push(o, text, f)
		if err != nil {
			d.Counts.Damaged++
		}
		if whole == nil {
			return
		}
		data = d.keep(whole)
	} else {
		e.made = append(e.made[:0], o.part(text, f, 0, 0))
	}
	d.sources.replied(e, o.at, data)
	d.message(Message{At: o.at, ECU: e.name, Data: data, Parts: d.keepParts(e.made...), from: e})
}

// message accepts a whole reply if it answers this request or one asked just before.
func (d *Decoder) message(m Message) {
	if m.Data[0] == 0 {
		d.Counts.Damaged++
		return
	}
	request, late := d.recent.answered(m.At, m.Data)
	if request == nil {
		d.Counts.Unasked++
		return
	}
	m.Late = late
	d.accept(m, request)
}

// repliesMost bounds the replies of one exchange: each of the eight ECUs that ISO 15765-4
// allows, to each request remembered. More is no car.
const repliesMost = 8 * recentMost

// accept takes a whole reply to a request.
func (d *Decoder) accept(m Message, request *Request) {
	if len(d.decoded.Messages) >= repliesMost {
		d.Counts.Unasked++
		return
	}
	if m.Late {
		d.Counts.Late++
	}
	d.Counts.Messages++
	m.asked = request.Items()
	d.decoded.Messages = append(d.decoded.Messages, m)
}
