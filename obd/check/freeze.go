package check

import (
	"fmt"

	"judder/obd"
	"judder/pids"
)

// freezePIDs are what is read of a freeze frame, in this order: those that tell how the car
// was driven when the code was stored (common practice, no source).
var freezePIDs = []byte{0x03, 0x04, 0x05, 0x06, 0x07, 0x08, 0x09, 0x0B, 0x0C, 0x0D, 0x0E, 0x0F, 0x10, 0x11, 0x1F, 0x2E, 0x2F, 0x33,
	0x42, 0x43, 0x44, 0x45, 0x46, 0x47, 0x49, 0x4A, 0x4C, 0x5A, 0x5C, 0x61, 0x62, 0x63}

// firstFrame is the only frame that SAE J1979 demands.
const firstFrame = 0

// freeze reads the freeze frame of every computer that holds one.
func (c *reader) freeze() error {
	if c.successor {
		return c.successorFreeze()
	}
	if err := c.frozen(0x02, func(e *ECU, part pids.Part) {
		if len(part.Data) == 2 && (part.Data[0] != 0 || part.Data[1] != 0) {
			code := pids.Code{Number: uint16(part.Data[0])<<8 | uint16(part.Data[1])}
			e.Freeze = &Freeze{Code: code.String(), Values: []Value{}}
		}
	}); err != nil {
		return err
	}
	if !c.holdsFreeze() {
		return nil
	}
	supported, err := c.supports("freeze frame", func(base byte) string { return obd.Request(0x02, base, firstFrame) }, func(base byte, data []byte) []byte {
		if len(data) < 7 || data[1] != base {
			return nil
		}
		return data[3:7]
	})
	if err != nil {
		return err
	}
	for _, pid := range freezePIDs {
		if !supported.any(pid) {
			continue
		}
		if err := c.frozen(pid, func(e *ECU, part pids.Part) {
			if e.Freeze != nil {
				e.Freeze.take(part)
			}
		}); err != nil {
			return err
		}
	}
	return nil
}

func (c *reader) holdsFreeze() bool {
	for i := range c.r.ECUs {
		if c.r.ECUs[i].Freeze != nil {
			return true
		}
	}
	return false
}

// frozen asks for one parameter of the freeze frame.
func (c *reader) frozen(pid byte, take func(e *ECU, part pids.Part)) error {
	return c.each(fmt.Sprintf("freeze frame, parameter %02X", pid), obd.Request(0x02, pid, firstFrame), func(e *ECU, data []byte) error {
		parts, err := pids.ParseFreezeFrame(data, pid)
		if err != nil {
			return err
		}
		for _, p := range parts {
			take(e, p)
		}
		return nil
	})
}

// take decodes a parameter by the same table as live data.
func (f *Freeze) take(part pids.Part) {
	values, err := part.PID.Append(nil, part.Data)
	if err != nil {
		return
	}
	for _, v := range values {
		f.Values = append(f.Values, Value{Signal: v.Field.Signal, Name: v.Field.Name, Value: v.Value, Unit: v.Field.Unit, Text: v.Field.Text(v.Value)})
	}
}

// successorFreeze reads, on a car after SAE J1979-2, the snapshots of the first code of each
// computer that has one: identifiers F4xx are the parameters of SAE J1979. The maker's own
// stay unread; their lengths are not told.
func (c *reader) successorFreeze() error {
	for i := range c.r.ECUs {
		id := c.r.ECUs[i].ID
		for k := range c.r.ECUs[i].Codes {
			code, err := pids.ParseCode(c.r.ECUs[i].Codes[k].Code)
			if err != nil || c.r.ECUs[i].Freeze != nil {
				continue
			}
			if err := c.each("freeze frame of "+code.String(), detailOf(0x04, code), func(e *ECU, data []byte) error {
				of, records, err := pids.ParseSnapshots(data)
				if e.ID == id && len(records) > 0 && len(records[0].Parts) > 0 {
					e.Freeze = &Freeze{Code: of.String(), Values: []Value{}}
					for _, p := range records[0].Parts {
						e.Freeze.take(p)
					}
				}
				return err
			}); err != nil {
				return err
			}
		}
	}
	return nil
}
