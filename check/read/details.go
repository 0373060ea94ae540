package read

import (
	"encoding/hex"
	"fmt"
	"strings"

	"github.com/judder-obd/judder/check"
	"github.com/judder-obd/judder/obd"
	"github.com/judder-obd/judder/obd/inquiry"
	"github.com/judder-obd/judder/pids/dtc"
)

// formatISO is the format of codes that ISO 14229-1 names after itself: three bytes whose
// meaning the maker chooses.
const formatISO = 0x01

// format asks how a module writes the codes of its list, those from was on, which the list does
// not show, and how many it has (ISO 14229-1 service 19 01): a list that lacks some of them, be
// it empty, was not read. Codes that SAE J2012 does not write lose the names that do not belong
// to them; a module that does not answer the question is taken at the usual format.
func (m *modules) format(module obd.Module, e *check.ECU, was, listed int) error {
	if listed == 0 && e.Lists[check.ListByStatus].Kind != check.Read {
		return nil
	}
	x, err := m.q.AskOne(module, obd.Request(0x19, 0x01, failedMask))
	became := outcomeOf(&x)
	if err != nil || became.Unsupported() {
		return err
	}
	if x.Outcome != inquiry.Answered {
		for i := range e.Codes[was:] {
			unsure(&e.Codes[was+i], check.NamedUnknown)
		}
		item := check.Item{Kind: check.ItemFormat}
		if listed == 0 {
			item.Kind = check.ItemCount
		}
		m.note(e.ID, item, became)
		return nil
	}
	_, format, count, err := dtc.ParseCount(x.Data)
	if err != nil {
		m.noteError(e.ID, check.Item{Kind: check.ItemCount}, err)
		return nil
	}
	if count != listed {
		differ := check.Outcome{Kind: check.FewerListed, N: listed, Of: count}
		m.note(e.ID, check.ListByStatus.Item(), differ)
		if count > listed && e.Lists[check.ListByStatus].Kind == check.Read {
			e.Lists[check.ListByStatus] = differ
		}
	}
	for i := range e.Codes[was:] {
		written(&e.Codes[was+i], format)
	}
	return nil
}

// written says how sure the name of a code is by the format in which its ECU writes them.
func written(k *check.Code, format byte) {
	code, err := dtc.ParseCode(k.Code)
	switch {
	case err != nil:
	case format == formatISO:
		unsure(k, check.NamedByMaker)
	case !dtc.WritesJ2012(format):
		k.Code, k.Naming, k.Format = fmt.Sprintf("%04X%02X", code.Number, code.FailureType), check.NotNamedJ2012, format
		k.Text, k.Source = fmt.Sprintf("raw, in format %02X, which is not that of SAE J2012", format), "ISO 14229-1"
	}
}

// unsure says that the name of a code may not be its own.
func unsure(k *check.Code, why check.Naming) {
	because := map[check.Naming]string{check.NamedByMaker: "this control unit writes them in format 01", check.NamedUnknown: "the format of this control unit's codes is not known"}
	k.Naming = why
	k.Text = strings.TrimPrefix(k.Text+"; a reading of its bytes by SAE J2012, not sure: "+because[why], "; ")
	k.Source = strings.TrimPrefix(k.Source+"; ISO 14229-1", "; ")
}

// bytesOf are the three bytes of a code of service 19, however it is written.
func bytesOf(k *check.Code) (c dtc.Code, ok bool) {
	if c, err := dtc.ParseCode(k.Code); err == nil {
		return c, c.Three
	}
	b, err := hex.DecodeString(k.Code)
	if err != nil || len(b) != 3 {
		return c, false
	}
	return dtc.Code{Number: uint16(b[0])<<8 | uint16(b[1]), FailureType: b[2], Three: true}, true
}

// isOf reports whether a detail is of the code that was asked: a late one is of another.
func isOf(detail []byte, c dtc.Code) bool {
	return detail[2] == byte(c.Number>>8) && detail[3] == byte(c.Number) && detail[4] == c.FailureType
}

// detailMost bounds for how many codes of one module the detail is asked.
const detailMost = 20

// details asks for the snapshots and the extended data of each code of a list. Without the
// maker's table their lengths are not known: they are kept raw.
func (m *modules) details(module obd.Module, e *check.ECU, list []check.Code) error {
	after := func(k *check.Code) check.Item { return check.Item{Kind: check.ItemDetailsAfter, Name: k.Code} }
	for i := range list[:min(len(list), detailMost)] {
		wait, err := m.detail(module, e, &list[i])
		if err != nil {
			return err
		}
		if wait {
			m.note(e.ID, after(&list[i]), check.Of(check.OnlyWaits))
			return nil
		}
	}
	if more := len(list) - detailMost; more > 0 {
		m.note(e.ID, after(&list[detailMost-1]), check.Outcome{Kind: check.TooMany, N: more, Of: detailMost})
	}
	return nil
}

// detail asks for the detail of one code; wait is true when its ECU only says "wait".
func (m *modules) detail(module obd.Module, e *check.ECU, k *check.Code) (wait bool, err error) {
	code, ok := bytesOf(k)
	if !ok {
		return false, nil
	}
	for _, d := range []struct {
		sub  byte
		keep *string
	}{{0x04, &k.Snapshot}, {0x06, &k.Extended}} {
		x, err := m.q.AskOne(module, detailOf(d.sub, code))
		if err != nil {
			return false, err
		}
		became := outcomeOf(&x)
		switch {
		case x.Outcome == inquiry.Answered && len(x.Data) > 5 && isOf(x.Data, code):
			*d.keep = fmt.Sprintf("%X", x.Data[6:])
			continue
		case x.Outcome == inquiry.Answered:
			became = check.Of(check.AnsweredOther)
		}
		if !became.Unsupported() {
			m.note(e.ID, check.Item{Kind: check.ItemDetail, ID: d.sub, Name: k.Code}, became)
		}
		if x.Outcome == inquiry.Pending {
			return true, nil
		}
	}
	return false, nil
}
