package recording

import (
	"fmt"
	"math"
	"time"

	"github.com/judder-obd/judder/obd"
	"github.com/judder-obd/judder/pids"
)

// Kind says which part of an [Entry] is filled.
type Kind uint8

// The kinds of entries.
const (
	KindExchange Kind = iota // Entry.Exchange
	KindLink                 // Entry.Link
	KindFelt                 // Entry.Mark: the user felt it now
	KindNote                 // Entry.Mark: the user's words
	KindReading              // Entry.Reading: from an imported file, which has no raw exchange
	KindCheck                // Entry.Check: a code check begins or ends
	KindUndo                 // no part: the user took the last felt mark back
	KindBlind                // Entry.Blind: a blind pass begins or ends
	KindArm                  // Entry.Arm: a step is announced, or none any more
	kindCount
)

// String gives the name of the kind as the file spells it.
func (k Kind) String() string { return nameOf(kindNames[:], int(k)) }

// Mark is what the user said at one time of the drive.
type Mark struct {
	Text string // the note; usually "" for a felt mark; no control characters
}

// CheckState is how a code check inside a drive is.
type CheckState uint8

// The states.
const (
	CheckBegun CheckState = iota // it begins
	CheckOver                    // it ended, all was asked
	CheckBroke                   // it ended and is not whole
	checkStateCount
)

// Check is the beginning or the end of a code check inside a drive.
type Check struct {
	State CheckState
	Kept  string // at the end, the file with the result; "" when it is not kept
}

// Entry is one thing that happened in a session: a sum by Kind, of which one part is
// filled. At is when the entry was complete, which is when a live session saw it:
// Exchange.Done, Link.At, Reading.At, or the time of the mark.
//
// The constructors [OfExchange], [OfLink], [Felt], [Note], [OfCheck], [Undo], [Blind], [Arm] and [OfReading]
// make entries that hold to this; [Truncate] brings any entry into this shape.
type Entry struct {
	Kind     Kind
	At       time.Duration // since the start of the session
	Exchange obd.Exchange
	Link     obd.LinkChange
	Mark     Mark
	Reading  pids.Sample
	Check    Check
	Blind    bool   // true where a blind pass begins, false where it ends
	Arm      string // code of the step that is announced; "" where none is any more
}

// OfExchange makes the entry of a finished exchange.
func OfExchange(x obd.Exchange) Entry {
	return Entry{Kind: KindExchange, At: x.Done, Exchange: x}
}

// OfLink makes the entry of a link that changed.
func OfLink(c obd.LinkChange) Entry { return Entry{Kind: KindLink, At: c.At, Link: c} }

// Felt makes the entry of a felt mark.
func Felt(at time.Duration) Entry { return Entry{Kind: KindFelt, At: at} }

// Note makes the entry of a note.
func Note(at time.Duration, text string) Entry {
	return Entry{Kind: KindNote, At: at, Mark: Mark{Text: text}}
}

// OfCheck makes the entry of a code check that begins or ends.
func OfCheck(at time.Duration, c Check) Entry { return Entry{Kind: KindCheck, At: at, Check: c} }

// Undo makes the entry by which the user takes the last felt mark back.
func Undo(at time.Duration) Entry { return Entry{Kind: KindUndo, At: at} }

// Blind makes the entry of a blind pass that begins or ends: while it lasts the screen hides what
// was found.
func Blind(at time.Duration, begins bool) Entry {
	return Entry{Kind: KindBlind, At: at, Blind: begins}
}

// Arm makes the entry by which a step is announced, by its code; "" ends that.
func Arm(at time.Duration, step string) Entry { return Entry{Kind: KindArm, At: at, Arm: step} }

// OfReading makes the entry of an imported reading.
func OfReading(s pids.Sample) Entry { return Entry{Kind: KindReading, At: s.At, Reading: s} }

// time is when the entry was complete, from the part that is filled.
func (e *Entry) time() time.Duration {
	switch e.Kind {
	case KindExchange:
		return e.Exchange.Done
	case KindLink:
		return e.Link.At
	case KindReading:
		return e.Reading.At
	default:
		return e.At
	}
}

// Truncate gives the entry as it will be read back from a file: times cut to whole
// microseconds, At set from the filled part, the other parts empty, control characters in
// the user's and the program's own texts turned to spaces, and a reading that is not
// finite turned to NaN. A live session uses the truncated entry, so that it sees the very
// numbers a replay will see. The argument's lines are not touched.
func Truncate(e Entry) Entry {
	switch e.Kind {
	case KindExchange:
		return OfExchange(truncateExchange(e.Exchange))
	case KindLink:
		e.Link.At = micro(e.Link.At)
		e.Link.Cause = obd.CauseByCode(e.Link.Cause.String())
		e.Link.Text = cleanText(e.Link.Text)
		return OfLink(e.Link)
	case KindReading:
		s := e.Reading
		s.At = micro(s.At)
		s.ECU = cleanText(s.ECU)
		s.Signal = pids.Signal(cleanText(string(s.Signal)))
		s.Value = finiteOrNaN(s.Value)
		return OfReading(s)
	case KindCheck:
		e.Check.Kept = cleanText(e.Check.Kept)
		return OfCheck(micro(e.At), e.Check)
	case KindUndo:
		return Undo(micro(e.At))
	case KindBlind:
		return Blind(micro(e.At), e.Blind)
	case KindArm:
		return Arm(micro(e.At), cleanText(e.Arm))
	default:
		return Entry{Kind: e.Kind, At: micro(e.At), Mark: Mark{Text: cleanText(e.Mark.Text)}}
	}
}

// truncateExchange cuts the times of an exchange, in a copy of its lines.
func truncateExchange(x obd.Exchange) obd.Exchange {
	x.Sent, x.Done = micro(x.Sent), micro(x.Done)
	if len(x.Lines) == 0 {
		x.Lines = nil
		return x
	}
	lines := make([]obd.Line, len(x.Lines))
	for i, l := range x.Lines {
		lines[i] = obd.Line{At: micro(l.At), Text: l.Text}
	}
	x.Lines = lines
	return x
}

func micro(d time.Duration) time.Duration { return d.Truncate(time.Microsecond) }

func finiteOrNaN(v float64) float64 {
	if math.IsInf(v, 0) {
		return math.NaN()
	}
	return v
}

// The names that the file gives to values; the index is the value.
var (
	kindNames   = [kindCount]string{"x", "link", "felt", "note", "r", "check", "undo", "blind", "arm"}
	endingNames = [...]string{obd.EndPrompt: "prompt", obd.EndSilence: "silence", obd.EndLost: "lost"}
	formNames   = [...]string{
		obd.FormUnknown: "unknown", obd.FormCAN11: "can11", obd.FormCAN29: "can29",
		obd.FormKLine: "kline", obd.FormJ1850: "j1850", obd.FormBare: "bare",
	}
	checkNames = [checkStateCount]string{CheckBegun: "begun", CheckOver: "over", CheckBroke: "broke-off"}
	blindNames = [...]string{"over", "begun"}
	stateNames = [...]string{
		obd.LinkClosed: "closed", obd.LinkOpening: "opening",
		obd.LinkAdapter: "adapter", obd.LinkCar: "car",
	}
)

func nameOf(names []string, i int) string {
	if i < len(names) {
		return names[i]
	}
	return fmt.Sprintf("unknown(%d)", i)
}

// indexOf finds a name in a table of names; -1 when it is not there.
func indexOf(names []string, name []byte) int {
	for i, n := range names {
		if n == string(name) {
			return i
		}
	}
	return -1
}
