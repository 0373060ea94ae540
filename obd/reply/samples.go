package reply

import (
	"math"
	"slices"
	"strings"
	"time"

	"judder/obd"
	"judder/pids"
)

// Samples appends the readings that an exchange brought: those of service 01 and of
// its successor, decoded by the parameter table, and those of service 22 that the vehicle
// profile names. A reply whose length does not fit what it claims to hold gives no reading
// at all and is counted as damaged; nor does what several ECUs tell of which none shows its
// name. Nothing is allocated once dst has room.
func (d *Decoder) Samples(dst []pids.Sample, x *obd.Exchange) []pids.Sample {
	return append(dst, d.Decode(x).Samples...)
}

// samples appends the readings in the messages of an exchange.
func (d *Decoder) samples(dst []pids.Sample, x *obd.Exchange, messages []Message) []pids.Sample {
	from := len(dst)
	d.told = d.told[:0]
	if len(messages) > 1 {
		d.crowd(x.Form, messages)
	}
	for _, m := range messages {
		at := len(dst)
		if d.Profile != nil && m.Data[0] == 0x22+positive {
			dst = d.profileSamples(dst, m)
		}
		if data := ParameterData(m.Data); data != nil && !d.isThere(m.from) {
			d.Counts.Damaged++
		} else if data != nil {
			dst = d.standardSamples(dst, m, data)
		}
		if x.Form == obd.FormBare && !m.Late {
			d.tell(dst[at:])
		}
	}
	return d.unmixed(dst, from)
}

// mixedFor is how long a signal is not read after two nameless ECUs told it differently in one
// exchange: when the reply of one of them is lost, nobody knows whose the other is. Where only one
// ECU ever told what it supports it may be a late reply, and only that exchange is not read.
const mixedFor = recentWithin

// readdress forgets what was mixed: from now on the adapter asks others.
func (d *Decoder) readdress(request string) {
	if strings.HasPrefix(request, "ATSH") {
		clear(d.mixed)
		d.crowded = false
	}
}

// crowd notes that several ECUs without names answer: a question for a support map was answered in
// several ways.
func (d *Decoder) crowd(form obd.Form, messages []Message) {
	first := ParameterData(messages[0].Data)
	if form == obd.FormBare && len(first) > 0 && first[0]%0x20 == 0 && Differ(messages) {
		d.crowded = true
	}
}

// rounding is by how much two computers may differ that tell one and the same: road speed comes in
// whole km/h.
var rounding = map[pids.Signal]float64{pids.VSS: 1}

// tell compares nameless readings with those of the same exchange before them.
func (d *Decoder) tell(samples []pids.Sample) {
	for _, s := range samples {
		for _, o := range d.told {
			if o.Signal == s.Signal && math.Abs(o.Value-s.Value) > rounding[s.Signal] {
				if d.mixed == nil {
					d.mixed = map[pids.Signal]time.Duration{}
				}
				d.mixed[s.Signal] = s.At
			}
		}
	}
	d.told = append(d.told, samples...)
}

// unmixed drops the readings from there on of which nobody knows whose they are.
func (d *Decoder) unmixed(dst []pids.Sample, from int) []pids.Sample {
	if len(d.mixed) == 0 {
		return dst
	}
	keep := dst[:from]
	for _, s := range dst[from:] {
		at, ok := d.mixed[s.Signal]
		if ok && !d.crowded {
			ok = slices.ContainsFunc(d.told, func(o pids.Sample) bool { return o.At == at && o.Signal == s.Signal })
		}
		if !ok || s.ECU != "" || s.At > at+mixedFor {
			keep = append(keep, s)
		}
	}
	return keep
}

// standardSamples appends the readings of the parameters of SAE J1979.
func (d *Decoder) standardSamples(dst []pids.Sample, m Message, data []byte) []pids.Sample {
	asked := m.asked
	if m.Data[0] == 0x22+positive {
		asked = asked[1:2] // behind the page; several identifiers a request are not asked
	}
	parts, err := pids.Split(d.parts[:0], data, asked...)
	d.parts = parts
	if err != nil {
		d.Counts.Damaged++
		return dst
	}
	for _, part := range parts {
		d.values, err = part.PID.Append(d.values[:0], part.Data)
		if err != nil {
			d.Counts.Damaged++
			continue
		}
		for _, v := range d.values {
			dst = append(dst, pids.Sample{At: m.At, ECU: m.ECU, Signal: v.Field.Signal, Value: v.Value})
		}
	}
	return dst
}

// profileSamples appends the readings in a reply to service 22.
func (d *Decoder) profileSamples(dst []pids.Sample, m Message) []pids.Sample {
	if d.Profile == nil || len(m.Data) < 4 {
		return dst
	}
	identifier := uint16(m.Data[1])<<8 | uint16(m.Data[2])
	for i := range d.Profile.Parameters {
		par := &d.Profile.Parameters[i]
		if par.Identifier != identifier || d.replyOf(par.Module) != m.ECU {
			continue
		}
		if v, ok := par.Decode(m.Data[3:]); ok {
			dst = append(dst, pids.Sample{At: m.At, ECU: m.ECU, Signal: par.Signal, Value: v})
		}
	}
	return dst
}

// replyOf is the address a module replies with, by the profile or by the standard's rule.
func (d *Decoder) replyOf(module string) string {
	if name, ok := d.replies[module]; ok {
		return name
	}
	name := obd.ReplyAddress(module)
	for _, m := range d.Profile.Modules {
		if strings.EqualFold(m.Request, module) && m.Reply != "" {
			name = strings.ToUpper(m.Reply)
		}
	}
	if d.replies == nil {
		d.replies = map[string]string{}
	}
	d.replies[module] = name
	return name
}

// ParameterData is the part of a reply that holds PIDs and their data, the same in both ways:
// 41 0C 1A F8 and 62 F4 0C 1A F8. nil when the reply holds none.
func ParameterData(reply []byte) []byte {
	switch {
	case len(reply) > 1 && reply[0] == 0x01+positive:
		return reply[1:]
	case len(reply) > 2 && reply[0] == 0x22+positive && reply[1] == obd.SuccessorPage:
		return reply[2:]
	}
	return nil
}
