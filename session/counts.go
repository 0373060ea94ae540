package session

import (
	"time"

	"github.com/judder-obd/judder/detect"
	"github.com/judder-obd/judder/detect/cause"
	"github.com/judder-obd/judder/obd/reply"
	"github.com/judder-obd/judder/pids/monitor"
)

// countWatch follows the misfire counts of service 06, whoever asked for them.
type countWatch struct {
	counts map[int]count // by cylinder, from 1
	rises  []rise
	reads  []time.Duration // when a count was read for the second time and later
	first  time.Duration   // of the readings
	lacks  bool            // the map of monitors has no cylinder
	asked  int             // shudders after which counts were asked for
}

// count is the last reading of the count of a cylinder.
type count struct {
	at time.Duration
	n  int
}

type rise struct {
	from, to time.Duration
	cylinder int
	by       int
}

// Monitors and test of the misfire counts (SAE J1979: A2 is cylinder 1; 0C counts this drive cycle).
const (
	testReply     = 0x46
	misfireMap    = 0xA0
	firstCylinder = 0xA2
	lastCylinder  = 0xAD
	testCurrent   = 0x0C
)

// take takes the messages of an exchange.
func (w *countWatch) take(d *reply.Decoded) {
	for i := range d.Messages {
		m := &d.Messages[i]
		if len(m.Data) < 2 || m.Data[0] != testReply {
			continue
		}
		if m.Data[1] == misfireMap && len(m.Data) >= 6 {
			w.lacks = len(w.counts) == 0 && m.Data[2]&0x7F|m.Data[3]&0xF8 == 0 // bits of A2 to AD
			continue
		}
		results, _ := monitor.ParseResults(m.Data) // what came before a damaged record counts
		for _, r := range results {
			if r.Monitor >= firstCylinder && r.Monitor <= lastCylinder && r.Test == testCurrent {
				w.count(m.At, int(r.Monitor-firstCylinder)+1, int(r.Value))
			}
		}
	}
}

func (w *countWatch) count(at time.Duration, cylinder, n int) {
	if w.counts == nil {
		w.counts, w.first = map[int]count{}, at
	}
	w.lacks = false
	last, known := w.counts[cylinder]
	w.counts[cylinder] = count{at, n}
	if !known {
		return
	}
	if k := len(w.reads); k == 0 || w.reads[k-1] != at {
		w.reads = append(w.reads, at)
	}
	if n > last.n { // a smaller one was cleared, or the drive cycle is another
		w.rises = append(w.rises, rise{last.at, at, cylinder, n - last.n})
	}
}

// wants reports, once for each, whether a shudder is over and its counts should be read.
func (w *countWatch) wants(events []detect.Event, now time.Duration) bool {
	const after = 1500 * time.Millisecond
	if len(events) <= w.asked || now-events[len(events)-1].End < after {
		return false
	}
	w.asked = len(events)
	return true
}

// found is what the counts come to, with the shudder in which each rose.
func (w *countWatch) found(events []detect.Event) cause.Counts {
	c := cause.Counts{Read: len(w.reads) > 0, Lacks: w.lacks}
	for _, r := range w.rises {
		c.Rises = append(c.Rises, cause.Rise{From: r.from, To: r.to, Cylinder: r.cylinder, By: r.by, Event: w.eventOf(&r, events)})
	}
	for i := range events {
		if w.spans(&events[i]) && !w.rose(&events[i]) {
			c.Quiet++
		}
	}
	return c
}

// Misfires are how often a drive's misfire counts rose, all cylinders together, and the cylinder whose
// count rose most.
type Misfires struct{ By, Cylinder int }

// manyMisfires is from how many counts a drive's headline names them. A healthy engine counts a few
// (common practice, no source).
const manyMisfires = 10

func (w *countWatch) misfires() (m Misfires) {
	var by [lastCylinder - firstCylinder + 2]int // by cylinder, from 1
	for _, r := range w.rises {
		m.By += r.by
		if by[r.cylinder] += r.by; m.Cylinder == 0 || by[r.cylinder] > by[m.Cylinder] {
			m.Cylinder = r.cylinder
		}
	}
	return m
}

// eventOf is the last shudder between the two readings of a rise; -1 for none.
func (w *countWatch) eventOf(r *rise, events []detect.Event) int {
	for i := len(events) - 1; i >= 0; i-- {
		if ev := &events[i]; ev.Start <= r.to && ev.End >= r.from {
			return i
		}
	}
	return -1
}

func (w *countWatch) rose(ev *detect.Event) bool {
	for _, r := range w.rises {
		if ev.Start <= r.to && ev.End >= r.from {
			return true
		}
	}
	return false
}

// spans reports whether counts were read before a shudder and after it.
func (w *countWatch) spans(ev *detect.Event) bool {
	return len(w.reads) > 0 && w.first <= ev.Start && w.reads[len(w.reads)-1] >= ev.End
}

// wantsCounts reports, once for each shudder, that it is over and misfire counts should be read.
func (l *Live) wantsCounts(now time.Duration) bool {
	l.mu.Lock()
	defer l.mu.Unlock()
	return l.analysis.steps.counts.wants(l.analysis.detector.Events(), now)
}
