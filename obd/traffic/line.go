package traffic

import (
	"strings"

	"github.com/judder-obd/judder/obd"
	"github.com/judder-obd/judder/obd/reply"
)

// What an adapter writes at the end of the line of a frame, beside it or instead of it.
const (
	bufferFull = "BUFFER FULL"
	remote     = "RTR" // a frame that asks for another, without data (ELM327 data sheet)
)

// maxData is the most data bytes of a frame.
const maxData = 8

// Frame is the id of a frame that was heard; what it holds is of no concern yet.
type Frame struct {
	ID      uint32
	Foreign bool // marked <DATA ERROR: its first byte is no control byte of ISO 15765-2
}

// ParseLine reads a line of the form
//
//	1C4 00 12 34 56 78 9A BC DE<DATA ERROR     with spaces or without
//
// ok is false for a line that is no whole frame: a status text, a cut line, one with <RX ERROR.
func ParseLine(form obd.Form, line string) (f Frame, ok bool) {
	text := strings.ReplaceAll(strings.TrimSpace(line), " ", "")
	mark := strings.ReplaceAll(reply.DataErrorMark, " ", "")
	text, f.Foreign = strings.CutSuffix(text, mark)
	id, data, ok := parseID(form, text)
	if !ok || len(data)%2 != 0 || len(data) > 2*maxData {
		if data != remote {
			return Frame{}, false
		}
		data = ""
	}
	for i := range len(data) {
		if !obd.IsHex(data[i]) {
			return Frame{}, false
		}
	}
	f.ID = id
	return f, true
}

// full reports whether a line says that the adapter's buffer is full; the text may be on the line of a
// frame that was cut.
func full(line string) bool { return strings.HasSuffix(strings.TrimSpace(line), bufferFull) }
