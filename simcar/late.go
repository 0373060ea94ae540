package simcar

import (
	"bytes"
	"time"
)

// lateLine is a line that comes after its prompt. What it holds does not count as given:
// it answers no request any more, and a host that takes it has the wrong time for it.
type lateLine struct {
	at   time.Duration
	text []byte
}

// keepLate puts the lines of an exchange aside, to come so much later.
func (d *dialogue) keepLate(after time.Duration) func([]byte) []byte {
	return func(line []byte) []byte {
		d.late = append(d.late, lateLine{at: d.sim.Now() + after, text: append(bytes.Clone(line), '\r')})
		return nil
	}
}

// lateIsDue reports whether a line put aside should have come by t.
func (d *dialogue) lateIsDue(t time.Duration) bool { return len(d.late) > 0 && d.late[0].at <= t }

// sendLate sends the first line put aside, whatever else is going on.
func (d *dialogue) sendLate() error {
	line := d.late[0]
	d.late = d.late[1:]
	d.out = append(d.out, line.text...)
	return d.flush()
}
