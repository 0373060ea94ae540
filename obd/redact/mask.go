// Package redact takes the vehicle identification number out of what is kept of a dialogue. A kept
// line shows only what is accounted for; whatever else came may be a piece of the number, and
// becomes asterisks.
package redact

import (
	"bytes"
	"slices"

	"github.com/judder-obd/judder/obd"
	"github.com/judder-obd/judder/obd/reply"
	"github.com/judder-obd/judder/pids/identity"
)

// Mask hides numbers in the raw lines of exchanges. A line stays as it is if it is
//
//   - the echo of the request, or a status text of the adapter,
//   - the adapter's own answer to a command of its own,
//   - or part of a reply that is whole in this exchange, answers what was asked, and holds no number.
//
// The lines of a reply that holds a number keep their layout: its last six characters become
// asterisks in hex (2A), and the check byte fits again. Of any other line, every digit and letter
// becomes an asterisk. So each line keeps its length, and gives the same readings as before.
//
// The zero value is ready. It keeps the numbers that were read, to find them in other replies.
type Mask struct {
	known []string
}

// mark replaces a character that is hidden.
const mark = '*'

// Hide returns an exchange without numbers; that given is left as it is. d is what was decoded
// from it.
func (m *Mask) Hide(x obd.Exchange, d *reply.Decoded) obd.Exchange {
	kept := make([]string, len(x.Lines)) // "": not accounted for
	seen := rows{}
	for i := range d.Messages {
		r := &d.Messages[i]
		check := checks[x.Form]
		if r.Bare {
			check = nil
		}
		hidden := m.hide(r, check != nil, r.Bare || x.Form == obd.FormBare, seen)
		if hidden == nil || !r.Whole() {
			continue
		}
		for _, p := range r.Parts {
			kept[p.Line] = show(x.Lines[p.Line].Text[:p.Start], x.Lines[p.Line].Text[p.Start:], r.Data[p.From:p.To], hidden[p.From:p.To], check)
		}
	}
	x.Lines = slices.Clone(x.Lines)
	for i := range x.Lines {
		if l := &x.Lines[i]; kept[i] != "" {
			l.Text = kept[i]
		} else {
			l.Text = blank(x.Request, l.Text)
		}
	}
	return x
}

// hide returns the bytes of a reply as they may be shown; nil for nothing. checked and bare report
// whether its lines have a check byte, and no header.
func (m *Mask) hide(r *reply.Message, checked, bare bool, seen rows) []byte {
	hidden := slices.Clone(r.Data)
	switch {
	case isRow(r.Data) && (checked || bare):
		if bare && !seen.next(r.Data) || isNumber(r.Data) && !hideRow(hidden) {
			return nil
		}
		return hidden
	case bare && len(r.Parts) == 1 && likePiece(r.Data):
		return nil
	}
	found := identity.HideVINs(hidden, m.known...)
	for _, vin := range found {
		if !slices.Contains(m.known, vin) && len(m.known) < knownMost {
			m.known = append(m.known, vin)
		}
	}
	if len(found) == 0 && isNumber(r.Data) {
		return nil // one that is damaged
	}
	return hidden
}

// knownMost bounds the numbers that are kept: one car has one, or as many as ECUs.
const knownMost = 32

// isNumber reports whether a reply is one to a request for the identification number.
func isNumber(data []byte) bool {
	return slices.ContainsFunc([]string{"\x49\x02", "\x62\xF8\x02", "\x62\xF1\x90"}, func(head string) bool {
		return bytes.HasPrefix(data, []byte(head))
	})
}
