package table

import (
	"math"
	"time"
)

// TimeForm is how a file writes its times.
type TimeForm uint8

// The forms.
const (
	Elapsed   TimeForm = iota // a number since the start of the drive
	Unix                      // a number since 1970
	TimeOfDay                 // hours, minutes and seconds, without a date
	DateTime                  // date and time
)

// times turns the cells of the time column into times since the start of the drive.
type times struct {
	unit    *spelt // of a number; nil when the heading has none
	form    TimeForm
	begun   bool
	base    time.Duration // that is taken off
	first   time.Duration // time of day of the first row, without its zone
	zone    *time.Location
	days    calendar
	passed  time.Duration // periods that were over before the last cell
	last    time.Duration // clock of the last cell
	crossed int           // how often a period was over
}

// latestTime bounds the times of a file: more than a drive can last.
const latestTime = 1e6 // s, some 11 days

// earliestUnix is the smallest number that is taken for seconds since 1970: in 1973.
const earliestUnix = 1e8 // s

// number takes a cell that is a number. ok is false for a time before the start, or too long after it.
func (t *times) number(v float64) (at time.Duration, ok bool) {
	factor := 1.0
	switch {
	case t.unit != nil:
		factor = t.unit.worth.factor
	case t.form == Unix || !t.begun:
		for v*factor > 1e11 { // no unit: milliseconds since 1970 have thirteen digits, and so on
			factor /= 1000
		}
	}
	seconds := v * factor
	if !t.begun {
		t.begun = true
		if seconds >= earliestUnix && seconds < 1e11 {
			t.form, t.base = Unix, time.Duration(math.Round(seconds*1e6))*time.Microsecond
		}
	}
	if seconds < 0 || math.IsNaN(seconds) || seconds-t.base.Seconds() > latestTime {
		return 0, false
	}
	at = time.Duration(math.Round(seconds*1e6))*time.Microsecond - t.base
	return at, at > -latestTime*time.Second
}

// clock takes a cell that is a time of day, with the date before it or in a column of its own. The
// time comes back as the clock shows it; ok is false where it has not the form of the first one.
func (t *times) clock(cell, date string) (at time.Duration, ok bool) {
	c, ok := parseClock(cell)
	if !ok {
		return 0, false
	}
	if date != "" {
		c.date = date
	}
	if !t.begun {
		return 0, t.begin(c)
	}
	if (c.date != "") != (t.form == DateTime) || c.zoned != (t.zone != nil) {
		return 0, false
	}
	now := c.of - c.zone
	if t.form == DateTime {
		day, ok := t.days.next(c.date)
		return time.Duration(day)*24*time.Hour + now - t.base, ok
	}
	switch apart := now - t.last; {
	case t.last >= c.period: // hours that count on, past 24
	case apart < -c.period/2: // midnight, or the full hour
		t.passed += c.period
		t.crossed = max(t.crossed, int(t.passed/c.period))
	case apart > c.period/2: // back before it, in a file of one signal after the other
		t.passed -= c.period
	}
	t.last = now
	return t.passed + now - t.base, true
}

// begin takes the first cell.
func (t *times) begin(c clock) bool {
	t.begun, t.form = true, TimeOfDay
	if c.date != "" {
		if t.form = DateTime; !t.days.begin(c.date) {
			return false
		}
	}
	if c.zoned {
		t.zone = time.FixedZone("", int(c.zone/time.Second))
	}
	t.first = c.of
	t.base, t.last = c.of-c.zone, c.of-c.zone
	return true
}

// start is the wall clock at time 0; zero when the file does not say it. A time without a zone is
// taken for this computer's.
func (t *times) start() time.Time {
	switch t.form {
	case Unix:
		return time.UnixMicro(t.base.Microseconds()).UTC()
	case DateTime:
		if day, ok := t.days.start(); ok {
			zone := t.zone
			if zone == nil {
				zone = time.Local
			}
			whole, part := t.first/time.Second, t.first%time.Second
			return time.Date(day.Year(), day.Month(), day.Day(), 0, 0, int(whole), int(part), zone)
		}
	}
	return time.Time{}
}
