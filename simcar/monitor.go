package simcar

import (
	"math"
	"time"
)

// MonitorFlaws are the ways in which an adapter monitors badly; the zero value is a good one. Which
// there are is common practice, no source. What a profile Pretends (CM, CF, MA) or is Missing it
// does not do here either.
type MonitorFlaws struct {
	Room     int           // characters in all before BUFFER FULL, however fast the line is; 0: no limit
	StopLate time.Duration // from the character that stops it to the prompt
	HangsUp  bool          // it ends its connection instead
	Blind    bool          // it shows no frame
}

// monitorBuffer is the size of a good adapter's buffer (ELM327 data sheet p.70).
const monitorBuffer = 512

// quietSearch is how long an automatic protocol is quiet before the chip looks for another
// (a choice made here: no source says how long).
const quietSearch = 150 * time.Millisecond

// monitoring is AT MA while it lasts: frames come, and lines of them go out at the speed of the line.
type monitoring struct {
	d *dialogue
	heardFrames
	lines []lateLine
	said  int           // characters so far
	free  time.Duration // when the line to the host has nothing more to carry
	quiet time.Duration // when a search begins, if nothing comes
}

// monitor is AT MA (ELM327 data sheet, "Monitoring the bus"): every frame that passes the filter, each
// a line, until the host sends any character, which is thrown away. The line in the works is finished,
// then STOPPED and the prompt. A buffer that is full ends it too. With an automatic protocol a
// quiet bus has the chip search, which sends.
func monitor(d *dialogue, _ string) (string, bool) {
	if d.sim.profile.Monitor.HangsUp {
		_ = d.conn.Close() // that is what it does; run sees the end
		return answerNone, true
	}
	m := monitoring{d: d, quiet: math.MaxInt64}
	m.tune()
	if d.chip.automatic {
		m.quiet = d.sim.Now() + quietSearch
	}
	answer, err := m.run()
	if err != nil {
		d.broken = err
		return answerNone, true
	}
	if d.chip.protocol.row().kind == busCAN {
		d.chip.open = false // what follows opens the protocol again
	}
	return answer, true
}

// tune listens to the bus that the adapter is on.
func (m *monitoring) tune() {
	if !m.d.sim.profile.Monitor.Blind {
		m.heardFrames = m.d.frames(m.d.sim.Now())
	}
}

// run shows what comes until something ends it, and returns the last line.
func (m *monitoring) run() (answer string, err error) {
	d := m.d
	if err := d.flush(); err != nil {
		return "", err
	}
	for len(d.pending) == 0 {
		now := d.sim.Now()
		for m.more && m.frame.At <= now {
			if cut, full := m.take(now); full {
				return "BUFFER FULL", m.end(cut)
			}
			m.forward()
		}
		if err := m.out(now); err != nil {
			return "", err
		}
		if f, ok := d.nextFault(true); ok {
			if err := d.strikeIdle(f); err != nil || f.Kind != Noise {
				return answerNone, err
			}
		}
		if now >= m.quiet {
			m.quiet = math.MaxInt64
			if _, err := d.search(); err != nil {
				return "", err
			}
			m.tune()
		}
		if err := d.await(m.wait(now)); err != nil {
			return "", err
		}
	}
	d.pending = d.pending[1:]
	if err := m.end(nil); err != nil {
		return "", err
	}
	return "STOPPED", d.hold(d.sim.profile.Monitor.StopLate)
}

// wait is how long nothing happens but what the host does.
func (m *monitoring) wait(now time.Duration) time.Duration {
	until := now + time.Minute
	if m.more {
		until = min(until, m.frame.At)
	}
	if len(m.lines) > 0 {
		until = min(until, m.lines[0].at)
	}
	if at, ok := m.d.nextTimed(); ok {
		until = min(until, at)
	}
	return min(until, m.quiet) - now
}

// take takes a frame in; full where its line finds no room, and cut is what of it does.
func (m *monitoring) take(now time.Duration) (cut []byte, full bool) {
	d := m.d
	if !d.sim.ignition() {
		return nil, false
	}
	row := d.chip.protocol.row()
	if m.quiet < math.MaxInt64 {
		m.quiet = now + quietSearch
	}
	if !d.chip.silent {
		d.sim.noteSent(Transmission{ID: m.frame.ID, What: Acknowledgement})
	}
	if m.frame.Extended != row.extended || d.chip.filterSet && !d.chip.filter.passes(m.frame.ID) {
		return nil, false
	}
	text := d.frameLine(&m.frame, row)
	room := math.MaxInt
	if d.sim.paced {
		at := m.frame.At // not now: a busy machine is late, the simulated adapter is not
		room = monitorBuffer - int(max(0, m.free-at)/d.characters(1))
		m.free = max(m.free, at) + d.characters(len(text))
	}
	if most := d.sim.profile.Monitor.Room; most > 0 {
		room = min(room, most-m.said)
	}
	if len(text) > room {
		return text[:max(0, room)], true
	}
	m.said += len(text)
	m.lines = append(m.lines, lateLine{at: m.free, text: text})
	return nil, false
}

// out sends the lines whose last character has left by now.
func (m *monitoring) out(now time.Duration) error {
	n := 0
	for ; n < len(m.lines) && m.lines[n].at <= now; n++ {
		if _, err := m.d.conn.Write(m.lines[n].text); err != nil {
			return err
		}
	}
	m.lines = append(m.lines[:0], m.lines[n:]...)
	return nil
}

// end sends what is still in the buffer, and what of a line found room there.
func (m *monitoring) end(cut []byte) error {
	for len(m.lines) > 0 {
		if err := m.d.hold(m.lines[0].at - m.d.sim.Now()); err != nil {
			return err
		}
		if err := m.out(m.d.sim.Now()); err != nil {
			return err
		}
	}
	m.d.out = append(m.d.out, cut...)
	return nil
}
