package read

import (
	"encoding/hex"
	"fmt"
	"strings"

	"github.com/judder-obd/judder/check"
	"github.com/judder-obd/judder/pids/identity"
)

// hideVINs masks every number in what a report holds of the car, in words and in hex.
func hideVINs(r *check.Report, known []string) {
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
	notes := func(list []check.Note) {
		for i := range list {
			hide(&list[i].Item.Name)
			hide(&list[i].Outcome.Text)
		}
	}
	notes(r.Unread)
	for i := range r.ECUs {
		e := &r.ECUs[i]
		hide(&e.Name)
		hide(&e.PartNumber)
		hide(&e.TestState.Outcome.Text)
		hide(&e.FreezeState.Text)
		for k := range e.Calibrations {
			hide(&e.Calibrations[k])
		}
		for name, o := range e.Lists {
			hide(&o.Text)
			e.Lists[name] = o
		}
		notes(e.Unread)
		for k := range e.Codes {
			raw(&e.Codes[k].Snapshot)
			raw(&e.Codes[k].Extended)
		}
	}
}
