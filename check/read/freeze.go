package read

import (
	"slices"

	"github.com/judder-obd/judder/check"
	"github.com/judder-obd/judder/obd"
	"github.com/judder-obd/judder/pids"
	"github.com/judder-obd/judder/pids/dtc"
)

// freezePIDs are what is read first of a freeze frame, in this order: those that show how the
// car was driven when the code was stored (common practice, no source).
var freezePIDs = []byte{0x03, 0x04, 0x05, 0x06, 0x07, 0x08, 0x09, 0x0B, 0x0C, 0x0D, 0x0E, 0x0F, 0x10, 0x11, 0x1F, 0x2E, 0x2F, 0x33,
	0x42, 0x43, 0x44, 0x45, 0x46, 0x47, 0x49, 0x4A, 0x4C, 0x5A, 0x5C, 0x61, 0x62, 0x63}

// firstFrame is the only frame that SAE J1979 demands.
const firstFrame = 0

// frames reads the freeze frames of all ECUs.
type frames struct {
	*asker
	asked  bool
	became map[string]check.Outcome // of the question for the code of the frame
}

// read reads the freeze frame of every ECU that holds one. heard is called once it is known who
// answers.
func (f *frames) read(heard func()) error {
	if f.successor {
		return f.snapshots()
	}
	in, err := f.ask(0x02, everybody, func(e *check.ECU, part pids.Part) {
		if len(part.Data) == 2 && (part.Data[0] != 0 || part.Data[1] != 0) {
			code := dtc.Code{Number: uint16(part.Data[0])<<8 | uint16(part.Data[1])}
			e.Freezes = append(e.Freezes, check.Freeze{Code: code.String(), Values: []check.Value{}, Cut: true})
		}
	})
	if err != nil {
		return err
	}
	f.asked, f.became = true, in.became
	held := false
	for i := range f.r.ECUs {
		e := &f.r.ECUs[i]
		if e.FreezeState = f.became[e.ID]; e.FreezeState.Kind == check.NotSupported {
			e.FreezeState = check.Of(check.Read) // it keeps none
		}
		held = held || len(e.Freezes) > 0
	}
	heard()
	f.fill()
	if !held {
		return nil
	}
	return f.values()
}

// fill gives every ECU an outcome of the question for freeze frames, once it was asked. Who
// holds none may be silent on the older buses (SAE J1979).
func (f *frames) fill() {
	for i := range f.r.ECUs {
		e := &f.r.ECUs[i]
		if !f.asked || e.Further() || e.FreezeState.Kind != check.NotAsked {
			continue
		}
		switch lost := f.became[""]; {
		case lost.Kind != check.NotAsked:
			e.FreezeState = lost
		case f.can || f.successor:
			e.FreezeState = check.Of(check.SilentNotNone)
		default:
			e.FreezeState = check.Of(check.Read)
		}
	}
}

// values reads what the ECUs that hold a frame support of it.
func (f *frames) values() error {
	found, err := f.supports(check.ItemFreezeMap, func(base byte) string { return obd.Request(0x02, base, firstFrame) }, func(base byte, data []byte) []byte {
		if len(data) < 7 || data[1] != base {
			return nil
		}
		return data[3:7]
	})
	if err != nil {
		return err
	}
	f.withoutMap(&found)
	order := frozenOrder(found.maps)
	for n, pid := range order {
		f.progress(check.Item{Kind: check.StepFreeze}, n, len(order))
		if err := f.value(pid, due{maps: found.maps, id: pid}); err != nil {
			return err
		}
	}
	return nil
}

// value reads one parameter of all frames.
func (f *frames) value(pid byte, d due) error {
	in, err := f.ask(pid, d, func(e *check.ECU, part pids.Part) {
		if len(e.Freezes) > 0 {
			e.Freezes[0].Take(part)
		}
	})
	if err != nil {
		return err
	}
	item := check.Item{Kind: check.ItemFreezeParameter, ID: pid}
	missed := f.missed(item, d, in)
	for i := range f.r.ECUs {
		e := &f.r.ECUs[i]
		if len(e.Freezes) == 0 {
			continue
		}
		claims := d.maps.of(e.ID, pid)
		if claims && !pids.Lookup(pid).Known() {
			f.note(e.ID, item, check.Of(check.MeaningUnknown))
		}
		if _, lost := missed[e.ID]; lost || claims && in.became[e.ID].Kind != check.Read {
			e.Freezes[0].Cut = true
		}
	}
	return nil
}

// frozenOrder are the parameters that an ECU keeps in a freeze frame, those that show most
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

// withoutMap marks the frames whose contents are not known, and leaves of the maps those of the
// ECUs that hold one: the others may be silent.
func (f *frames) withoutMap(found *claims) {
	for i := range f.r.ECUs {
		e := &f.r.ECUs[i]
		if len(e.Freezes) == 0 {
			delete(found.maps, e.ID)
			continue
		}
		_, lost := found.lost[e.ID]
		none := !found.maps.has(e.ID)
		if e.Freezes[0].Cut = lost || none || f.r.Nameless; none {
			f.note(e.ID, check.Item{Kind: check.ItemFreeze, Name: e.Freezes[0].Code}, check.Of(check.Partial))
		}
	}
}

// ask asks for one parameter of the freeze frame.
func (f *frames) ask(pid byte, d due, take func(e *check.ECU, part pids.Part)) (round, error) {
	item := check.Item{Kind: check.ItemFreezeParameter, ID: pid}
	return f.each(item, obd.Request(0x02, pid, firstFrame), d, func(e *check.ECU, data []byte) error {
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
