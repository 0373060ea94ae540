// Package reply reads what an adapter puts out: lines of text become frames, frames whole
// replies of an ECU, and replies readings. It is pure: no clock, no link.
package reply

import (
	"fmt"
	"slices"
	"strconv"
	"strings"
	"time"
	"unicode"

	"judder/obd"
	"judder/obd/isotp"
	"judder/pids"
	"judder/pids/vehicle"
)

// Counts are what the decoder made of the lines so far.
type Counts struct {
	Messages int // whole replies to something that was asked
	Late     int // of those, replies to an earlier request
	Damaged  int // lines dropped because they are not whole
	Unasked  int // whole replies to nothing that was asked
	Nameless int // of the damaged lines, those that do not show whose they are
}

// Decoder turns exchanges into messages. It keeps what outlives an exchange: messages that
// are being put together, how wide each ECU's frames are, and what was asked lately, so that
// a late reply finds its request. Live and replayed drives go through the same code.
type Decoder struct {
	Counts  Counts
	Profile *vehicle.Profile // what this car can tell beyond the standard; nil for nothing

	senders    []*sender
	acquainted bool     // some ECU has told what it supports
	low        []uint32 // reply ids of further computers below the legislated ones
	recent     [recentAsks]recentAsk
	at         int // next place in recent
	arena      []byte
	decoded    Decoded
	made       []Part // of the messages of this exchange
	parts      []pids.Part
	values     []pids.Value
	replies    map[string]string // of a profile's modules: request address to reply address
}

// A reply is taken for one to an earlier request when that is among the last few and not
// older than this. The longest wait of the standards is 5 s, after "response pending".
const (
	recentAsks   = 8
	recentWithin = 6 * time.Second
)

type recentAsk struct {
	ask
	sent time.Duration
}

// sender is one ECU.
type sender struct {
	id      uint32
	form    obd.Form
	name    string
	parts   isotp.Assembler
	at      time.Duration // of the latest frame
	wholeAt time.Duration // of the latest reply
	made    []Part        // of the message under way, lines of this exchange alone
	have    int           // bytes of the message under way
	wide    int           // frames that were padded to 8 bytes though shorter would have done, up to sure
	thin    int           // frames that were shorter than that and whole: two for each, one off for each padded
	bare    bareParts
	known   bool          // it has told what it supports
	whole   int           // replies in this second
	counted time.Duration // when that began
}

// Decode takes an exchange apart: its messages, the readings in them, and what became of the
// request. Mixed replies give no readings: nobody knows whose they are. The result and all that is in it are valid until the next call. Nothing is allocated
// for an exchange whose like was seen before.
func (d *Decoder) Decode(x *obd.Exchange) *Decoded {
	before, out := d.Counts, &d.decoded
	d.take(x)
	out.Lines = len(x.Lines)
	out.Damaged = d.Counts.Damaged - before.Damaged
	out.Nameless = d.Counts.Nameless - before.Nameless
	out.Unasked = d.Counts.Unasked - before.Unasked
	out.Unfinished, out.PartsOnly = d.unfinished(x.Sent, out.PartsOnly[:0])
	if q := ParseQuestion(x.Request); q.N > 0 {
		out.conclude(x.Form)
	} else {
		out.Outcome, out.Code = OutcomeNotAsked, 0
	}
	out.Samples = out.Samples[:0]
	if out.Outcome != OutcomeMixed {
		out.Samples = d.samples(out.Samples, out.Messages)
	}
	out.Misfits = d.Counts.Damaged - before.Damaged - out.Damaged
	return out
}

// Messages is Decode for the messages alone.
func (d *Decoder) Messages(x *obd.Exchange) []Message {
	d.take(x)
	return d.decoded.Messages
}

// take takes the lines of an exchange.
func (d *Decoder) take(x *obd.Exchange) {
	d.arena, d.made, d.decoded.Messages = d.arena[:0], d.made[:0], d.decoded.Messages[:0]
	a := ParseQuestion(x.Request)
	if a.N > 0 {
		d.recent[d.at] = recentAsk{a, x.Sent}
		d.at = (d.at + 1) % recentAsks
	} else {
		d.listens(x.Request)
	}
	for _, s := range d.senders {
		s.made = s.made[:0]
	}
	for i := range x.Lines {
		if i+1 < len(x.Lines) && overrun(x.Lines[i+1].Text) {
			d.Counts.Damaged++
			continue
		}
		d.line(x, &a, i)
	}
	for _, s := range d.senders {
		if s.bare.drop() {
			d.Counts.Damaged++
		}
	}
}

// unfinished reports whether a reply of which a frame came since then is not whole yet. It appends
// the ECUs of which something came since then, and nothing whole.
func (d *Decoder) unfinished(since time.Duration, ecus []string) (yes bool, partsOnly []string) {
	for _, s := range d.senders {
		if s.at < since {
			continue
		}
		yes = yes || s.parts.Pending()
		if s.name != "" && s.wholeAt < since {
			ecus = append(ecus, s.name)
		}
	}
	return yes, ecus
}

// PartsOnly are the ECUs of which something came since then, and nothing whole.
func (d *Decoder) PartsOnly(since time.Duration) (ecus []string) {
	_, ecus = d.unfinished(since, nil)
	return ecus
}

// Unfinished reports whether a reply whose first frame came since then never became whole.
func (d *Decoder) Unfinished(since time.Duration) bool {
	yes, _ := d.unfinished(since, nil)
	return yes
}

// Heard reports whether anything ever came from a reply address.
func (d *Decoder) Heard(address string) bool {
	return slices.ContainsFunc(d.senders, func(s *sender) bool { return s.name == address })
}

// overrun tells whether a line says that the adapter ran out of room: the line before it is
// then cut off somewhere.
func overrun(text string) bool { return strings.TrimSpace(text) == "BUFFER FULL" }

func (d *Decoder) line(x *obd.Exchange, a *ask, i int) {
	o := origin{i, x.Lines[i].At, len(strings.TrimRightFunc(x.Lines[i].Text, unicode.IsSpace))}
	text := strings.TrimSpace(x.Lines[i].Text)
	if text == x.Request {
		return // an echo that could not be switched off
	}
	st, rest := StatusOf(text)
	if st != nil {
		if st.Action == ActDrop {
			d.Counts.Damaged++
			d.namedBy(x.Form, o.at, rest)
			return
		}
		if text = rest; text == "" || st.Action != ActNothing {
			return
		}
	}
	if x.Form == obd.FormBare {
		d.bareLine(a, o, text)
		return
	}
	if x.Form != obd.FormUnknown {
		f, arena, ok := parseFrame(d.arena, x.Form, text)
		if d.arena = arena; ok && (x.Form != obd.FormCAN11 || d.expects(f.id)) {
			d.frame(x.Form, o, text, f)
			return
		}
	}
	if d.lateBare(o, text) {
		return
	}
	if a.N > 0 { // the adapter's own answers are no frames
		d.Counts.Damaged++
		d.Counts.Nameless++
	}
}

// namedBy notes whose a damaged line is, where its beginning shows that.
func (d *Decoder) namedBy(form obd.Form, at time.Duration, text string) {
	f, arena, ok := parseFrame(d.arena, form, strings.TrimSpace(text))
	if d.arena = arena; !ok || !form.CAN() || form == obd.FormCAN11 && !d.expects(f.id) {
		d.Counts.Nameless++
		return
	}
	d.sender(form, f.id).at = at
}

// Expect has the replies of a further ECU taken for what they are: below the ids that every car
// may use, what looks like one is more often a damaged line.
func (d *Decoder) Expect(reply string) {
	if id, err := strconv.ParseUint(reply, 16, 16); err == nil && len(reply) == 3 && !slices.Contains(d.low, uint32(id)) {
		d.low = append(d.low, uint32(id))
	}
}

// listens expects replies from where the adapter is told to listen (AT CRA, AT CF).
func (d *Decoder) listens(command string) {
	for _, to := range []string{"ATCRA", "ATCF"} {
		if id, ok := strings.CutPrefix(command, to); ok {
			d.Expect(id)
		}
	}
}

// expects tells whether replies may come from an id on 11 bits.
func (d *Decoder) expects(id uint32) bool {
	if id >= lowestReply && (id < lowestRequest || id > highestRequest) || slices.Contains(d.low, id) {
		return true
	}
	return d.Profile != nil && slices.ContainsFunc(d.Profile.Parameters, func(p vehicle.Parameter) bool {
		return d.replyOf(p.Module) == fmt.Sprintf("%03X", id)
	})
}

// lateBare takes a reply that an adapter put out after it had lost its settings, headers off.
// It must answer what was asked lately to the letter; whose it is cannot be known.
func (d *Decoder) lateBare(o origin, text string) bool {
	f, arena, ok := parseFrame(d.arena, obd.FormBare, text)
	d.arena = arena
	if !ok || len(f.bytes) < 2 || len(f.bytes) > obd.MaxRequestBytes {
		return false
	}
	r := d.asked(o.at, f.bytes)
	if r == nil || f.bytes[0] != r.Service()+positive {
		return false
	}
	d.accept(Message{At: o.at, Data: f.bytes, Parts: d.keepParts(o.part(text, &f, 0, 0)), Bare: true}, r)
	return true
}

func (d *Decoder) frame(form obd.Form, o origin, text string, f frame) {
	s := d.sender(form, f.id)
	s.at = o.at
	data := f.bytes
	if form.CAN() {
		if s.narrowed(f.bytes) {
			d.Counts.Damaged++
			return
		}
		whole, err := s.push(o, text, &f)
		if err != nil {
			d.Counts.Damaged++
		}
		if whole == nil {
			return
		}
		data = d.keep(whole)
	} else {
		s.made = append(s.made[:0], o.part(text, &f, 0, 0))
	}
	s.wholeAt = o.at
	d.meet(s, o.at, data)
	d.message(Message{At: o.at, ECU: s.name, Data: data, Parts: d.keepParts(s.made...), from: s})
}

// push takes a frame of CAN, and keeps which part of the message under way it is. It returns the
// message when that is whole.
func (s *sender) push(o origin, text string, f *frame) (whole []byte, err error) {
	const first, consecutive = 1, 2
	kind, control := f.bytes[0]>>4, 1
	whole, err = s.parts.Push(f.bytes)
	if whole == nil && !s.parts.Pending() || kind < consecutive {
		s.made, s.have = s.made[:0], 0
	}
	if kind > consecutive || whole == nil && !s.parts.Pending() {
		return nil, err
	}
	if kind == first {
		control = 2
	}
	part := o.part(text, f, control, s.have)
	if whole != nil {
		part.To = len(whole)
	}
	s.made, s.have = append(s.made, part), part.To
	return whole, err
}

// ISO 15765-4: requests to single computers go out at these; no reply comes from there.
const lowestRequest, highestRequest = 0x7E0, 0x7E7

// meet takes note of a whole reply of an ECU.
func (d *Decoder) meet(s *sender, at time.Duration, reply []byte) {
	if data := ParameterData(reply); data != nil && data[0]%0x20 == 0 {
		s.known, d.acquainted = true, true
	}
	if at > s.counted+time.Second {
		s.whole, s.counted = 0, at
	}
	s.whole++
}

// KnownECUs are the ECUs that have told what they support.
func (d *Decoder) KnownECUs() (names []string) {
	for _, s := range d.senders {
		if s.known {
			names = append(names, s.name)
		}
	}
	return names
}

// isThere tells whether there is such an ECU, as far as is seen: it has told what it supports, or
// speaks often; where nobody has, all are believed. A line of CAN whose header has a wrong digit
// makes one up; the older buses have a check byte.
func (d *Decoder) isThere(s *sender) bool {
	const often = 3 // replies within a second
	return !d.acquainted || s == nil || !s.form.CAN() || s.known || s.whole >= often
}

// Unknown tells whether a reply is of an ECU that is not known to be there.
func (d *Decoder) Unknown(m Message) bool { return !d.isThere(m.from) }

// message accepts a whole reply if it answers this request or one asked lately.
func (d *Decoder) message(m Message) {
	if m.Data[0] == 0 {
		d.Counts.Damaged++
		return
	}
	r := d.asked(m.At, m.Data)
	if r == nil {
		d.Counts.Unasked++
		return
	}
	d.accept(m, r)
}

// repliesMost bounds the replies of one exchange: each of the eight ECUs that ISO 15765-4
// allows, to each request remembered. More is no car.
const repliesMost = 8 * recentAsks

// accept takes a whole reply to the request r.
func (d *Decoder) accept(m Message, r *recentAsk) {
	if len(d.decoded.Messages) >= repliesMost {
		d.Counts.Unasked++
		return
	}
	if r != &d.recent[(d.at-1+recentAsks)%recentAsks] {
		d.Counts.Late++
		m.Late = true
	}
	d.Counts.Messages++
	m.asked = r.Items()
	d.decoded.Messages = append(d.decoded.Messages, m)
}

// asked finds the latest request that a reply answers; nil when there is none.
func (d *Decoder) asked(at time.Duration, reply []byte) *recentAsk {
	for back := 1; back <= recentAsks; back++ {
		r := &d.recent[(d.at-back+recentAsks)%recentAsks]
		if r.N == 0 || at-r.sent > recentWithin {
			return nil
		}
		if at < r.sent { // it was there before
			continue
		}
		if r.AnsweredBy(reply) {
			return r
		}
	}
	return nil
}

// narrowed tells whether a frame is narrower than this ECU's frames always were. Frames on
// OBD CAN are 8 bytes wide; adapters show them so, or cut at the length. Either is taken, and
// either by turns where that goes on; but a rare change from 8 to fewer is a line that lost
// characters.
func (s *sender) narrowed(b []byte) bool {
	const (
		sure  = 3 // so many padded frames show the habit
		habit = 5 // so much thin shows another: three in a row, or by turns for a while
	)
	if len(b) == 8 {
		if b[0] < 7 {
			s.wide, s.thin = min(s.wide+1, sure), max(s.thin-1, 0)
		}
		return false
	}
	if b[0] > 7 || len(b) != 1+int(b[0]) {
		return b[0] <= 7 || s.wide >= sure
	}
	if s.wide >= sure {
		s.thin = min(s.thin+2, 2*habit)
	}
	return s.wide >= sure && s.thin <= habit
}

// keep copies bytes into the arena.
func (d *Decoder) keep(b []byte) []byte {
	n := len(d.arena)
	d.arena = append(d.arena, b...)
	return d.arena[n:]
}

// keepParts copies parts so that they last as long as the exchange.
func (d *Decoder) keepParts(parts ...Part) []Part {
	n := len(d.made)
	d.made = append(d.made, parts...)
	return d.made[n:len(d.made):len(d.made)]
}

func (d *Decoder) sender(form obd.Form, id uint32) *sender {
	for _, s := range d.senders {
		if s.id == id && s.form == form {
			return s
		}
	}
	s := &sender{id: id, form: form}
	switch form {
	case obd.FormCAN11:
		s.name = fmt.Sprintf("%03X", id)
	case obd.FormCAN29:
		s.name = fmt.Sprintf("%08X", id)
	case obd.FormKLine, obd.FormJ1850:
		s.name = fmt.Sprintf("%02X", id)
	}
	d.senders = append(d.senders, s)
	return s
}
