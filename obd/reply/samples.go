package reply

import (
	"github.com/judder-obd/judder/obd"
	"github.com/judder-obd/judder/pids"
)

// samples appends the readings in messages: those of service 01 and of its successor by the
// parameter table, and those of service 22 that the vehicle profile names. A reply whose length
// does not fit what it claims to hold gives no reading and is counted as damaged.
func (d *Decoder) samples(dst []pids.Sample, messages []Message) []pids.Sample {
	for _, m := range messages {
		if d.Profile != nil && m.Data[0] == 0x22+positive {
			dst = d.profileSamples(dst, m)
		}
		if data := ParameterData(m.Data); data != nil && !d.sources.known(m.from) {
			d.Counts.Damaged++
		} else if data != nil {
			dst = d.standardSamples(dst, m, data)
		}
	}
	return dst
}

// standardSamples appends the readings of the parameters of SAE J1979.
func (d *Decoder) standardSamples(dst []pids.Sample, m Message, data []byte) []pids.Sample {
	asked := m.asked
	if m.Data[0] == 0x22+positive {
		asked = asked[1:2] // after the page; several identifiers a request are not asked
	}
	parts, err := pids.Split(d.parts[:0], data, asked...)
	d.parts = parts
	if err != nil {
		d.Counts.Damaged++
		return dst
	}
	for _, part := range parts {
		d.values, _ = part.PID.Append(d.values[:0], part.Data) // Split has checked the length
		for _, v := range d.values {
			dst = append(dst, pids.Sample{At: m.At, ECU: m.ECU, Signal: v.Field.Signal, Value: v.Value})
		}
	}
	return dst
}

// profileSamples appends the readings in a reply to service 22.
func (d *Decoder) profileSamples(dst []pids.Sample, m Message) []pids.Sample {
	if len(m.Data) < 4 {
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
