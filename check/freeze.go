package check

import (
	"cmp"
	"fmt"
	"slices"
	"strings"

	"judder/obd"
	"judder/pids"
	"judder/pids/dtc"
)

// freezePIDs are what is read first of a freeze frame, in this order: those that tell how the car
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
	err := c.frozen(0x02, everybody, func(e *ECU, part pids.Part) {
		if len(part.Data) == 2 && (part.Data[0] != 0 || part.Data[1] != 0) {
			code := dtc.Code{Number: uint16(part.Data[0])<<8 | uint16(part.Data[1])}
			e.Freezes = append(e.Freezes, Freeze{Code: code.String(), Values: []Value{}, Cut: true})
		}
	})
	if err != nil {
		return err
	}
	if few := c.fewer(); few != "" {
		c.became[""] = few
	}
	c.freezes = c.became
	held := false
	for i := range c.r.ECUs {
		e := &c.r.ECUs[i]
		if e.FreezeState = c.freezes[e.ID]; e.FreezeState == NotSupported {
			e.FreezeState = ListRead // it keeps none
		}
		held = held || len(e.Freezes) > 0
	}
	c.fill()
	if !held {
		return nil
	}
	return c.freezeValues()
}

// noFreeze is what the silence of a computer to the question for freeze frames means, when lost
// became of replies that nobody can be named for.
func (c *reader) noFreeze(lost string) string {
	switch {
	case lost != "":
		return lost
	case c.can || c.successor:
		return silentOnCAN
	}
	return ListRead // who holds none may be silent there (SAE J1979)
}

// freezeValues reads what the computers that hold a frame support of it.
func (c *reader) freezeValues() error {
	supported, err := c.supports("freeze frame", func(base byte) string { return obd.Request(0x02, base, firstFrame) }, func(base byte, data []byte) []byte {
		if len(data) < 7 || data[1] != base {
			return nil
		}
		return data[3:7]
	})
	if err != nil {
		return err
	}
	frames := c.withoutMap(supported)
	order := frozenOrder(supported)
	for n, pid := range order {
		c.progress("freeze frames", n, len(order))
		d := due{maps: supported, id: pid, most: frames}
		if err := c.frozen(pid, d, func(e *ECU, part pids.Part) {
			if len(e.Freezes) > 0 {
				e.Freezes[0].take(part)
			}
		}); err != nil {
			return err
		}
		missed := c.missed(parameterOfFrame(pid), d)
		for i := range c.r.ECUs {
			e := &c.r.ECUs[i]
			_, lost := missed[e.ID]
			if len(e.Freezes) > 0 && supported.of(e.ID, pid) && !pids.Lookup(pid).Known() {
				c.note(e.ID, parameterOfFrame(pid), "what it means is not known here; the raw replies hold it")
			}
			if len(e.Freezes) > 0 && (lost || supported.of(e.ID, pid) && c.became[e.ID] != ListRead) {
				e.Freezes[0].Cut = true
			}
		}
	}
	return nil
}

// frozenOrder are the parameters that some computer keeps in a freeze frame, those that tell most
// first.
func frozenOrder(supported supportMaps) (order []byte) {
	for _, pid := range freezePIDs {
		if supported.any(pid) {
			order = append(order, pid)
		}
	}
	for pid := byte(0x03); pid != 0; pid++ { // 02 is the code
		if supported.any(pid) && !pids.Lookup(pid).IsMap() && !slices.Contains(freezePIDs, pid) {
			order = append(order, pid)
		}
	}
	return order
}

// withoutMap marks the frames of which it is not known what they hold, and leaves of the maps those
// of the computers that hold one: the others may be silent. It counts the frames.
func (c *reader) withoutMap(supported supportMaps) (frames int) {
	maps := 0
	for key := range supported {
		if strings.HasPrefix(key, namelessKey(0, "")) {
			maps++
		}
	}
	for i := range c.r.ECUs {
		e := &c.r.ECUs[i]
		if len(e.Freezes) == 0 {
			delete(supported, e.ID)
			continue
		}
		frames += len(e.Freezes)
		_, lost := c.lostMaps[e.ID]
		none := supported[e.ID] == nil
		if c.r.Nameless {
			none = maps < len(e.Freezes)
		}
		if e.Freezes[0].Cut = lost || none; none {
			c.note(e.ID, "freeze frame of "+e.Freezes[0].Code, "what it holds was not told whole")
		}
	}
	return frames
}

func parameterOfFrame(pid byte) string { return fmt.Sprintf("freeze frame, parameter %02X", pid) }

// frozen asks for one parameter of the freeze frame.
func (c *reader) frozen(pid byte, d due, take func(e *ECU, part pids.Part)) error {
	return c.each(parameterOfFrame(pid), obd.Request(0x02, pid, firstFrame), d, func(e *ECU, data []byte) error {
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
		f.Values = append(f.Values, Value{Signal: v.Field.Signal, Name: v.Field.Name, Value: v.Value, Unit: v.Field.Unit, Text: v.Field.Text(v.Value), step: v.Field.Step()})
	}
}

// successorFreeze reads, on a car after SAE J1979-2, the snapshots of each code of each
// computer: identifiers F4xx are the parameters of SAE J1979. The maker's own stay unread;
// their lengths are not told.
func (c *reader) successorFreeze() error {
	c.freezes = map[string]string{}
	for i := range c.r.ECUs {
		c.r.ECUs[i].FreezeState = ListRead
	}
	asked := map[string]bool{}
	for _, t := range c.r.told() {
		name := t.Code.Code
		code, err := dtc.ParseCode(name)
		if err != nil || asked[name] {
			continue
		}
		asked[name] = true // all computers are asked at once
		if err := c.snapshots(name, code); err != nil {
			return err
		}
	}
	return nil
}

// snapshots reads all snapshots of a code, of every computer that has it.
func (c *reader) snapshots(name string, code dtc.Code) error {
	what := "freeze frame of " + name
	const has = 1
	holders := supportMaps{}
	for i := range c.r.ECUs {
		if e := &c.r.ECUs[i]; slices.ContainsFunc(e.Codes, func(k Code) bool { return k.Code == name }) {
			holders.add(e.ID, func(id byte) bool { return id == has })
		}
	}
	if err := c.each(what, detailOf(0x04, code), due{maps: holders, id: has}, func(e *ECU, data []byte) error {
		of, records, err := dtc.ParseSnapshots(data)
		for n := range records {
			r := &records[n]
			f := Freeze{Code: of.String(), Record: int(r.Record), Values: []Value{}, Cut: len(r.Other) > 0 || err != nil && n == len(records)-1}
			for _, p := range r.Parts {
				f.take(p)
			}
			if len(f.Values) > 0 || f.Cut {
				e.Freezes = append(e.Freezes, f)
			}
		}
		return err
	}); err != nil {
		return err
	}
	for i := range c.r.ECUs {
		e := &c.r.ECUs[i]
		if holders[e.ID] == nil {
			continue
		}
		switch became := cmp.Or(c.became[e.ID], c.became[""]); became {
		case ListRead, NotSupported:
		case "":
			e.FreezeState = silentOnCAN
			c.note(e.ID, what, silentOnCAN)
		default:
			e.FreezeState = became
		}
	}
	return nil
}
