package recording

import (
	"fmt"
	"strings"
	"time"

	"github.com/judder-obd/judder/prose"
)

// maxBadLines is how many damaged lines are kept one by one; all are counted.
const maxBadLines = 100

// BadLine is a line that was skipped.
type BadLine struct {
	Line          int           // from 1
	After, Before time.Duration // times of the whole entries around it; equal when none follows
	Err           error         // ErrChecksum, ErrNoChecksum, ErrJSON, ErrNotUnderstood or ErrTooLong
}

// Damage is what is wrong with a file. The zero value is a sound file. It is complete
// once [Reader.Next] has returned false.
type Damage struct {
	HeaderLost bool // the first line is damaged: what it held is not known

	Ended     bool          // there is an end record
	Last      time.Duration // latest time of an entry
	Stopped   bool          // recording stopped before the session did
	Why       string        // why the session or, when Stopped, the recording ended
	TornBytes int64         // length of a piece of a line at the end
	NULBytes  int64         // NUL bytes at the end, as a power cut leaves them

	BadLines int       // damaged lines, skipped
	Bad      []BadLine // the first of them
	Unknown  int       // sound lines of kinds that this version does not know, skipped

	Missing, MissingExchanges int // entries the end record counts and the file lacks; negative: too many
	Counted                   int // entries the end record counts
	Backwards                 int // entries that go back in time
	FirstBackwards            int // line of the first of them
	AfterEnd                  int // lines after the end record
	Second                    int // line where another recording begins, which is not read
}

// Any reports whether anything is wrong. Unknown lines and the lack of the last line feed are
// no damage.
func (d *Damage) Any() bool { return len(d.Words()) > 0 }

// String is Words in one line; "" for a sound file.
func (d *Damage) String() string { return strings.Join(d.Words(), "; ") }

// Words are what is wrong, in plain words, one thing a string; none for a sound file.
func (d *Damage) Words() []string {
	var w []string
	say := func(when bool, format string, args ...any) {
		if when {
			w = append(w, fmt.Sprintf(format, args...))
		}
	}
	say(d.HeaderLost, "the first line is damaged: start time, adapter and port are not known")
	say(!d.Ended && d.Second == 0, "no end after %s: still being recorded, or broken off", prose.Duration(d.Last))
	say(d.Stopped, "recording stopped after %s, before the session ended: %s", prose.Duration(d.Last), d.Why)
	say(d.TornBytes > 0, "the last line is torn (%s, left out)", count(d.TornBytes, "byte"))
	say(d.NULBytes > 0, "%s at the end, as a power cut leaves them", count(d.NULBytes, "NUL byte"))
	if d.BadLines > 0 {
		w = append(w, d.badWords())
	}
	say(d.Missing > 0, "%d of %s missing (%s)", d.Missing, count(int64(d.Counted), "entry"),
		count(int64(max(d.MissingExchanges, 0)), "exchange"))
	say(d.Missing < 0, "%s more than were written", count(int64(-d.Missing), "entry"))
	say(d.Backwards > 0, "%s out of order, first at line %d", count(int64(d.Backwards), "line"), d.FirstBackwards)
	say(d.AfterEnd > 0, "%s after the end record", count(int64(d.AfterEnd), "line"))
	say(d.Second > 0, "another recording begins at line %d and was not read: split the file there", d.Second)
	return w
}

// badWords names the damaged lines, one by one when they are few.
func (d *Damage) badWords() string {
	const few = 3
	var each []string
	for _, b := range d.Bad[:min(few, len(d.Bad))] {
		after, before := prose.Duration(b.After), prose.Duration(b.Before)
		where := fmt.Sprintf("line %d, near %s", b.Line, after)
		if before != after {
			where = fmt.Sprintf("line %d, between %s and %s", b.Line, after, before)
		}
		each = append(each, fmt.Sprintf("%s: %v", where, b.Err))
	}
	if d.BadLines > few {
		each = append(each, "…")
	}
	return fmt.Sprintf("%s skipped (%s)", count(int64(d.BadLines), "damaged line"), strings.Join(each, "; "))
}

// bad counts a damaged line.
func (d *Damage) bad(number int, err error) {
	d.BadLines++
	if len(d.Bad) < maxBadLines {
		d.Bad = append(d.Bad, BadLine{Line: number, After: d.Last, Before: d.Last, Err: err})
	}
}

// count writes a number with its noun.
func count(n int64, noun string) string {
	switch {
	case n == 1:
		return "1 " + noun
	case strings.HasSuffix(noun, "y"):
		return fmt.Sprintf("%d %sies", n, strings.TrimSuffix(noun, "y"))
	}
	return fmt.Sprintf("%d %ss", n, noun)
}
