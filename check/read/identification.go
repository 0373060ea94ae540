package read

import (
	"bytes"
	"maps"
	"slices"

	"github.com/judder-obd/judder/check"
	"github.com/judder-obd/judder/pids/identity"
)

// Info types of service 09 (SAE J1979).
const (
	infoVIN         = 0x02
	infoCalibration = 0x04
	infoCVN         = 0x06
	infoName        = 0x0A
)

// identification reads which car it is, and which programs its ECUs hold.
type identification struct {
	*asker
	show, skip bool // the whole VIN; not to ask for it
	digest     func(vin string) string
	vins       []string // all that were reported, whole; the first is the car's
}

func (id *identification) read() error {
	claims, err := id.kinds()
	if err != nil {
		return err
	}
	if !id.skip {
		if err := id.vehicle(claims); err != nil {
			return err
		}
	}
	if err := id.claimed(claims, check.ItemCalibrations, infoCalibration, func(e *check.ECU, data []byte) error {
		ids, err := identity.ParseCalibrationIDs(data)
		e.Calibrations = id.joined(e.Calibrations, ids)
		return err
	}); err != nil {
		return err
	}
	if err := id.claimed(claims, check.ItemCVNs, infoCVN, func(e *check.ECU, data []byte) error {
		numbers, err := identity.ParseCVNs(data)
		e.CVNs = id.joined(e.CVNs, numbers)
		return err
	}); err != nil {
		return err
	}
	return id.claimed(claims, check.ItemName, infoName, func(e *check.ECU, data []byte) (err error) {
		if id.r.Nameless {
			return nil // one name for several ECUs would be wrong
		}
		e.Name, err = identity.ParseECUName(data)
		return err
	})
}

// vehicle reads the number of the car, which one ECU has to report.
func (id *identification) vehicle(claims supportMaps) error {
	id.r.VINAsked = true
	return id.claimed(claims, check.ItemVIN, infoVIN, func(e *check.ECU, data []byte) error {
		vin, err := identity.ParseVIN(data)
		if err == nil && id.same(e.ID, vin) {
			id.take(vin)
		}
		return err
	})
}

// claimed asks for an info type, and notes the ECUs that claim it and do not report it; the
// number of the car only when nobody does.
func (id *identification) claimed(claims supportMaps, kind check.ItemKind, info byte, take func(e *check.ECU, data []byte) error) error {
	item, claim := check.Item{Kind: kind}, due{maps: claims, id: info}
	d := claim
	if len(claims) == 0 { // nobody reported what it has
		d = everybody
	}
	in, err := id.whole(item, info, d, take)
	if err != nil || info == infoVIN && len(id.vins) > 0 {
		return err
	}
	id.noteSilent(item, claim, in)
	return nil
}

// kinds are the info types that each ECU claims to have.
func (id *identification) kinds() (supportMaps, error) {
	found, err := id.supports(check.ItemInfoMap, id.q.Information, func(base byte, data []byte) []byte {
		for _, head := range [][]byte{{0x49, base}, {0x62, 0xF8, base}} {
			if rest, ok := bytes.CutPrefix(data, head); ok && len(rest) >= 4 { // a count may be in front
				return rest[len(rest)-4:]
			}
		}
		return nil
	})
	return found.maps, err
}

// same keeps a number and reports whether it is the first or equal to the first; another one is
// noted.
func (id *identification) same(ecu, vin string) bool {
	if id.vins = append(id.vins, vin); vin != id.vins[0] {
		id.note(ecu, check.Item{Kind: check.ItemVIN}, check.Of(check.OtherVIN))
	}
	return vin == id.vins[0]
}

func (id *identification) take(vin string) {
	well := identity.CheckVIN(vin)
	id.r.ModelYear, id.r.VINNote, id.r.VIN = well.ModelYear, well.Why, id.shown(vin)
	if id.digest != nil {
		id.r.VINDigest = id.digest(vin)
	}
}

// shown is a number as the report may hold it.
func (id *identification) shown(vin string) string {
	if id.show {
		return vin
	}
	return identity.MaskVIN(vin)
}

// joined adds what one ECU reports in several replies; where ECUs have no names, two may well
// report the same.
func (id *identification) joined(have, more []string) []string {
	for _, s := range more {
		if id.r.Nameless || !slices.Contains(have, s) {
			have = append(have, s)
		}
	}
	return have
}

// whole asks for an info type. On the older buses a long one comes in numbered lines, which are
// joined for each ECU; where they do not fit together they are asked for once more.
func (id *identification) whole(item check.Item, info byte, d due, take func(e *check.ECU, data []byte) error) (round, error) {
	if id.can || id.successor {
		return id.each(item, id.q.Information(info), d, take)
	}
	lines := map[string][][]byte{}
	keep := func(e *check.ECU, data []byte) error {
		if id.r.Nameless || !slices.ContainsFunc(lines[e.ID], func(l []byte) bool { return bytes.Equal(l, data) }) {
			lines[e.ID] = append(lines[e.ID], data)
		}
		return nil
	}
	in, err := id.each(item, id.q.Information(info), d, keep)
	if err != nil {
		return in, err
	}
	wrong := id.join(lines, slices.Sorted(maps.Keys(lines)), take)
	if wrong == nil || id.r.Nameless {
		id.noteErrors(item, wrong)
		return in, nil
	}
	if _, err := id.each(item, id.q.Information(info), nobody, keep); err != nil { // a line may be lost
		return in, err
	}
	id.noteErrors(item, id.join(lines, slices.Sorted(maps.Keys(wrong)), take))
	return in, nil
}

// join joins the numbered lines of ECUs and hands them to take; wrong is what could not be read,
// by ECU.
func (id *identification) join(lines map[string][][]byte, of []string, take func(e *check.ECU, data []byte) error) (wrong map[string]error) {
	for _, ecu := range of {
		data, err := identity.JoinLegacy(lines[ecu])
		if err == nil {
			err = take(id.r.ECU(ecu), data)
		}
		if err != nil {
			if wrong == nil {
				wrong = map[string]error{}
			}
			wrong[ecu] = err
		}
	}
	return wrong
}

func (id *identification) noteErrors(item check.Item, wrong map[string]error) {
	for _, ecu := range slices.Sorted(maps.Keys(wrong)) {
		id.noteError(ecu, item, wrong[ecu])
	}
}
