package obd

import "judder/pids"

// Samples appends the readings that an exchange brought: those of service 01 and of
// its successor, decoded by the parameter table, and those of service 22 that the vehicle
// profile names. A reply whose length does not fit what it claims to hold gives no reading
// at all and is counted as damaged. Nothing is allocated once dst has room.
func (d *Decoder) Samples(dst []pids.Sample, x *Exchange) []pids.Sample {
	for _, m := range d.Messages(x) {
		if d.Profile != nil && m.Data[0] == 0x22+positive {
			dst = d.profileSamples(dst, m)
		}
		if data := ParameterData(m.Data); data != nil {
			dst = d.standardSamples(dst, m, data)
		}
	}
	return dst
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
