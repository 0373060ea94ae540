package recording

import (
	"fmt"
	"math"
	"strconv"
	"time"

	"github.com/judder-obd/judder/obd"
	"github.com/judder-obd/judder/pids"
)

// encodeEntry makes the sealed line of an entry in buf's memory. It fails on values that
// the format has no name for and on a line longer than maxLine.
func encodeEntry(buf []byte, e *Entry) ([]byte, error) {
	line := buf[:0]
	if err := checkEntry(e); err != nil {
		return line, err
	}
	line = append(line, `{"k":"`...)
	line = append(line, kindNames[e.Kind]...)
	line = append(line, `","t":`...)
	switch e.Kind {
	case KindExchange:
		line = appendExchange(line, &e.Exchange)
	case KindLink:
		line = appendLink(line, &e.Link)
	case KindReading:
		line = appendReading(line, &e.Reading)
	case KindCheck:
		line = appendCheck(line, e)
	case KindUndo:
		line = appendMicros(line, e.At)
	case KindBlind:
		line = appendBlind(line, e)
	case KindArm:
		line = appendMicros(line, e.At)
		line = appendField(line, "step", e.Arm)
	default:
		line = appendMark(line, e)
	}
	line = seal(line)
	if len(line) > maxLine {
		return line[:0], fmt.Errorf("%w: %d bytes, at most %d", ErrTooLong, len(line), maxLine)
	}
	return line, nil
}

// checkEntry refuses values that have no name in the file.
func checkEntry(e *Entry) error {
	switch {
	case e.Kind >= kindCount:
		return fmt.Errorf("%w: kind %d", ErrNotUnderstood, e.Kind)
	case e.Kind == KindExchange && int(e.Exchange.Ending) >= len(endingNames):
		return fmt.Errorf("%w: ending %d", ErrNotUnderstood, e.Exchange.Ending)
	case e.Kind == KindExchange && int(e.Exchange.Form) >= len(formNames):
		return fmt.Errorf("%w: form %d", ErrNotUnderstood, e.Exchange.Form)
	case e.Kind == KindLink && int(e.Link.State) >= len(stateNames):
		return fmt.Errorf("%w: link state %d", ErrNotUnderstood, e.Link.State)
	case e.Kind == KindCheck && e.Check.State >= checkStateCount:
		return fmt.Errorf("%w: check state %d", ErrNotUnderstood, e.Check.State)
	}
	return nil
}

func appendMicros(b []byte, d time.Duration) []byte {
	return strconv.AppendInt(b, d.Microseconds(), 10)
}

func appendExchange(b []byte, x *obd.Exchange) []byte {
	b = appendMicros(b, x.Sent)
	b = append(b, `,"q":`...)
	b = appendRaw(b, x.Request)
	b = append(b, `,"r":[`...)
	for i := range x.Lines {
		if i > 0 {
			b = append(b, ',')
		}
		b = append(b, '[')
		b = appendMicros(b, x.Lines[i].At)
		b = append(b, ',')
		b = appendRaw(b, x.Lines[i].Text)
		b = append(b, ']')
	}
	b = append(b, `],"d":`...)
	b = appendMicros(b, x.Done)
	b = append(b, `,"e":"`...)
	b = append(b, endingNames[x.Ending]...)
	b = append(b, `","f":"`...)
	b = append(b, formNames[x.Form]...)
	return append(b, '"')
}

func appendLink(b []byte, c *obd.LinkChange) []byte {
	b = appendMicros(b, c.At)
	b = append(b, `,"s":"`...)
	b = append(b, stateNames[c.State]...)
	b = append(b, `","c":"`...) // always: a line without it is of an older version
	b = append(b, c.Cause.String()...)
	b = append(b, `","text":`...)
	return appendText(b, c.Text)
}

func appendReading(b []byte, s *pids.Sample) []byte {
	b = appendMicros(b, s.At)
	b = append(b, `,"ecu":`...)
	b = appendText(b, s.ECU)
	b = append(b, `,"signal":`...)
	b = appendText(b, string(s.Signal))
	b = append(b, `,"v":`...)
	if math.IsNaN(s.Value) || math.IsInf(s.Value, 0) {
		return append(b, "null"...) // JSON has no word for it
	}
	return strconv.AppendFloat(b, s.Value, 'g', -1, 64)
}

func appendCheck(b []byte, e *Entry) []byte {
	b = appendMicros(b, e.At)
	b = append(b, `,"s":"`...)
	b = append(b, checkNames[e.Check.State]...)
	b = append(b, '"')
	return appendField(b, "kept", e.Check.Kept)
}

func appendBlind(b []byte, e *Entry) []byte {
	b = appendMicros(b, e.At)
	b = append(b, `,"s":"`...)
	begun := 0
	if e.Blind {
		begun = 1
	}
	b = append(b, blindNames[begun]...)
	return append(b, '"')
}

func appendMark(b []byte, e *Entry) []byte {
	b = appendMicros(b, e.At)
	if e.Kind == KindFelt && e.Mark.Text == "" {
		return b
	}
	b = append(b, `,"text":`...)
	return appendText(b, e.Mark.Text)
}
