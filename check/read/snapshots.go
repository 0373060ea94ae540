package read

import (
	"slices"

	"github.com/judder-obd/judder/check"
	"github.com/judder-obd/judder/obd"
	"github.com/judder-obd/judder/pids/dtc"
)

// detailOf asks for all records of a code: 04 its snapshots, 06 its extended data (ISO 14229-1
// service 19).
func detailOf(sub byte, c dtc.Code) string {
	const allRecords = 0xFF
	return obd.Request(0x19, sub, byte(c.Number>>8), byte(c.Number), c.FailureType, allRecords)
}

// snapshots reads, on a car built to SAE J1979-2, the snapshots of each code of each ECU:
// identifiers F4xx are the parameters of SAE J1979. The maker's own stay unread; their lengths
// are not known.
func (f *frames) snapshots() error {
	f.asked, f.became = true, map[string]check.Outcome{}
	var codes []string
	for _, c := range f.r.EachCode() {
		if !slices.Contains(codes, c.Code) {
			codes = append(codes, c.Code) // all ECUs are asked at once
		}
	}
	for i := range f.r.ECUs {
		f.r.ECUs[i].FreezeState = check.Of(check.Read)
	}
	for _, name := range codes {
		if code, err := dtc.ParseCode(name); err == nil {
			if err := f.snapshotsOf(name, code); err != nil {
				return err
			}
		}
	}
	return nil
}

// snapshotsOf reads all snapshots of a code, of every ECU that has it.
func (f *frames) snapshotsOf(name string, code dtc.Code) error {
	const has = 1
	item, holders := check.Item{Kind: check.ItemFreeze, Name: name}, supportMaps{}
	for i := range f.r.ECUs {
		if e := &f.r.ECUs[i]; slices.ContainsFunc(e.Codes, func(k check.Code) bool { return k.Code == name }) {
			holders.add(e.ID, func(id byte) bool { return id == has })
		}
	}
	in, err := f.each(item, detailOf(0x04, code), due{maps: holders, id: has}, func(e *check.ECU, data []byte) error {
		of, records, err := dtc.ParseSnapshots(data)
		for n := range records {
			r := &records[n]
			frame := check.Freeze{Code: of.String(), Record: int(r.Record), Values: []check.Value{}, Cut: len(r.Other) > 0 || err != nil && n == len(records)-1}
			for _, p := range r.Parts {
				frame.Take(p)
			}
			if len(frame.Values) > 0 || frame.Cut {
				e.Freezes = append(e.Freezes, frame)
			}
		}
		return err
	})
	if err != nil {
		return err
	}
	for i := range f.r.ECUs {
		e := &f.r.ECUs[i]
		if !holders.has(e.ID) {
			continue
		}
		switch became := in.of(e.ID, check.SilentNotNone); became.Kind {
		case check.Read, check.NotSupported:
		case check.SilentNotNone:
			f.note(e.ID, item, became)
			e.FreezeState = became
		default:
			e.FreezeState = became
		}
	}
	return nil
}
