package obd

import "judder/pids"

// Samples appends the readings that an exchange brought: those of service 01, decoded by
// the parameter table. A reply whose length does not fit what it claims to hold gives no
// reading at all and is counted as damaged. Nothing is allocated once dst has room.
func (d *Decoder) Samples(dst []pids.Sample, x *Exchange) []pids.Sample {
	for _, m := range d.Messages(x) {
		if m.Data[0] != 0x01+positive {
			continue
		}
		parts, err := pids.Split(d.parts[:0], m.Data[1:], m.asked...)
		d.parts = parts
		if err != nil {
			d.Counts.Damaged++
			continue
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
	}
	return dst
}
