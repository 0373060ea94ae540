package check

import (
	"bytes"
	"encoding/hex"
	"fmt"
	"maps"
	"slices"
	"strings"

	"judder/pids/identity"
)

// Info types of service 09 (SAE J1979).
const (
	infoVIN         = 0x02
	infoCalibration = 0x04
	infoCVN         = 0x06
	infoName        = 0x0A
)

// What is read of the identification, as it is named when it is not read whole.
const (
	readingVIN  = "VIN"
	readingIDs  = "calibration ids"
	readingCVNs = "calibration verification numbers"
)

func (c *reader) identity() error {
	claims, err := c.informs()
	if err != nil {
		return err
	}
	if !c.o.SkipVIN {
		if err := c.vehicle(claims); err != nil {
			return err
		}
	}
	if err := c.claimed(claims, readingIDs, infoCalibration, func(e *ECU, data []byte) error {
		ids, err := identity.ParseCalibrationIDs(data)
		e.Calibrations = c.joined(e.Calibrations, ids)
		return err
	}); err != nil {
		return err
	}
	if err := c.claimed(claims, readingCVNs, infoCVN, func(e *ECU, data []byte) error {
		numbers, err := identity.ParseCVNs(data)
		e.CVNs = c.joined(e.CVNs, numbers)
		return err
	}); err != nil {
		return err
	}
	return c.claimed(claims, "name", infoName, func(e *ECU, data []byte) (err error) {
		if c.r.Nameless {
			return nil // one name for several computers would be wrong
		}
		e.Name, err = identity.ParseECUName(data)
		return err
	})
}

// vehicle reads the number of the car, which one computer has to tell.
func (c *reader) vehicle(claims supportMaps) error {
	c.r.askedVIN = true
	return c.claimed(claims, readingVIN, infoVIN, func(e *ECU, data []byte) error {
		vin, err := identity.ParseVIN(data)
		if err == nil && c.sameVIN(e.ID, vin) {
			c.takeVIN(vin)
		}
		return err
	})
}

// claimed is whole, and names the computers that claim an info type and do not tell it; of the
// number of the car only when nobody does.
func (c *reader) claimed(claims supportMaps, what string, item byte, take func(e *ECU, data []byte) error) error {
	d := due{maps: claims, id: item}
	if len(claims) == 0 { // nobody told what it has
		d = everybody
	}
	if err := c.whole(what, item, d, take); err != nil || item == infoVIN && len(c.vins) > 0 {
		return err
	}
	for _, id := range c.silentTo(due{maps: claims, id: item}, c.became) {
		c.note(id, what, silentToClaim)
	}
	return nil
}

// informs are the info types that each computer claims to tell.
func (c *reader) informs() (supportMaps, error) {
	return c.supports("kinds of identification", c.q.Information, func(base byte, data []byte) []byte {
		for _, head := range [][]byte{{0x49, base}, {0x62, 0xF8, base}} {
			if rest, ok := bytes.CutPrefix(data, head); ok && len(rest) >= 4 { // a count may stand in front
				return rest[len(rest)-4:]
			}
		}
		return nil
	})
}

// sameVIN keeps a number and tells whether it is the first or that of the first; another one is
// named.
func (c *reader) sameVIN(ecu, vin string) bool {
	if c.vins = append(c.vins, vin); vin != c.vins[0] {
		c.note(ecu, readingVIN, "this computer tells another number than the first; it may come from another car")
	}
	return vin == c.vins[0]
}

// hideVINs masks every number in what is kept of the car, in words and in hex.
func (r *Report) hideVINs(known []string) {
	hide := func(s *string) {
		b := []byte(*s)
		identity.HideVINs(b, known...)
		*s = string(b)
		for _, vin := range known {
			*s = strings.ReplaceAll(*s, fmt.Sprintf("%X", vin), fmt.Sprintf("%X", identity.MaskVIN(vin)))
		}
	}
	raw := func(s *string) {
		if b, err := hex.DecodeString(*s); err == nil && len(b) > 0 {
			identity.HideVINs(b, known...)
			*s = fmt.Sprintf("%X", b)
		}
	}
	for i := range r.Unread {
		hide(&r.Unread[i])
	}
	for i := range r.ECUs {
		e := &r.ECUs[i]
		hide(&e.Name)
		hide(&e.PartNumber)
		for _, list := range [][]string{e.Calibrations, e.Unread} {
			for k := range list {
				hide(&list[k])
			}
		}
		for k := range e.Codes {
			raw(&e.Codes[k].Snapshot)
			raw(&e.Codes[k].Extended)
		}
	}
}

func (c *reader) takeVIN(vin string) {
	well := identity.CheckVIN(vin)
	c.r.ModelYear, c.r.VINNote = well.ModelYear, well.Why
	if c.r.VIN = vin; !c.o.VIN {
		c.r.VIN = identity.MaskVIN(vin)
	}
}

// joined adds what one computer tells in several replies; where computers have no names, two may
// well tell the same.
func (c *reader) joined(have, more []string) []string {
	for _, s := range more {
		if c.r.Nameless || !slices.Contains(have, s) {
			have = append(have, s)
		}
	}
	return have
}

// whole asks for an info type. On the older buses a long one comes in numbered lines, which
// are joined for each computer; where they do not fit together they are asked for once more.
func (c *reader) whole(what string, item byte, d due, take func(e *ECU, data []byte) error) error {
	if c.can || c.successor {
		return c.each(what, c.q.Information(item), d, take)
	}
	lines := map[string][][]byte{}
	keep := func(e *ECU, data []byte) error {
		if c.r.Nameless || !slices.ContainsFunc(lines[e.ID], func(l []byte) bool { return bytes.Equal(l, data) }) {
			lines[e.ID] = append(lines[e.ID], data)
		}
		return nil
	}
	if err := c.each(what, c.q.Information(item), d, keep); err != nil {
		return err
	}
	wrong := c.joinLines(lines, slices.Sorted(maps.Keys(lines)), take)
	if wrong == nil || c.r.Nameless {
		c.noteAll(what, wrong)
		return nil
	}
	became := c.became
	if err := c.each(what, c.q.Information(item), nobody, keep); err != nil { // a line may be lost
		return err
	}
	c.became = became
	c.noteAll(what, c.joinLines(lines, slices.Sorted(maps.Keys(wrong)), take))
	return nil
}

// joinLines joins the numbered lines of computers and hands them to take; wrong is what could not
// be read, by computer.
func (c *reader) joinLines(lines map[string][][]byte, of []string, take func(e *ECU, data []byte) error) (wrong map[string]error) {
	for _, id := range of {
		data, err := identity.JoinLegacy(lines[id])
		if err == nil {
			err = take(c.r.ecu(id), data)
		}
		if err != nil {
			if wrong == nil {
				wrong = map[string]error{}
			}
			wrong[id] = err
		}
	}
	return wrong
}

func (c *reader) noteAll(what string, wrong map[string]error) {
	for _, id := range slices.Sorted(maps.Keys(wrong)) {
		c.note(id, what, wrong[id].Error())
	}
}
