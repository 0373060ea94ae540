package traffic

import (
	"cmp"
	"maps"
	"slices"
	"strings"
	"time"

	"github.com/judder-obd/judder/obd"
	"github.com/judder-obd/judder/obd/reply"
)

// Heard is what one time of listening to a slice brought.
type Heard struct {
	Frames  map[uint32]int // of each id in the slice
	Outside map[uint32]int // of ids that the filter should have kept back
	Damaged int            // lines that are no whole frame
	Full    bool           // the adapter's buffer was full, which ended it
	For     time.Duration
}

// Hear reads the lines that came while a slice was listened to, for so long.
func Hear(form obd.Form, s Slice, lines []obd.Line, d time.Duration) Heard {
	h := Heard{Frames: map[uint32]int{}, Outside: map[uint32]int{}, For: d}
	for i := range lines {
		text := lines[i].Text
		if full(text) {
			h.Full = true
			continue
		}
		if i+1 < len(lines) && strings.TrimSpace(lines[i+1].Text) == bufferFull {
			continue // it may be cut, though it looks whole
		}
		f, ok := ParseLine(form, text)
		switch st, _ := reply.StatusOf(strings.TrimSpace(text)); {
		case ok && s.Holds(f.ID):
			h.Frames[f.ID]++
		case ok:
			h.Outside[f.ID]++
		case st == nil || st.Action == reply.ActDrop:
			h.Damaged++
		}
	}
	return h
}

// count is how often an id was heard, and in how much time it could have been.
type count struct {
	frames int
	heard  time.Duration
}

// Tally counts what was heard of each id, slice by slice.
type Tally struct {
	Form    obd.Form
	Fast    float64 // ids that come more often a second are counted by Sum
	Slices  int     // with anything in them
	Full    int     // of these, cut short by a full buffer
	Damaged int     // lines

	ids     map[uint32]count
	outside map[uint32]count
	slices  map[Slice]time.Duration // how long each was listened to
	total   time.Duration
}

// Add takes in what a slice brought. The same slice may come several times.
func (t *Tally) Add(s Slice, h Heard) {
	if t.ids == nil {
		t.ids, t.outside, t.slices = map[uint32]count{}, map[uint32]count{}, map[Slice]time.Duration{}
	}
	t.slices[s] += h.For
	t.total += h.For
	t.Damaged += h.Damaged
	if len(h.Frames)+len(h.Outside) > 0 || h.Full {
		t.Slices++
	}
	if h.Full {
		t.Full++
	}
	for id, n := range h.Frames {
		t.ids[id] = count{frames: t.ids[id].frames + n}
	}
	for id, n := range h.Outside {
		t.outside[id] = count{frames: t.outside[id].frames + n}
	}
}

// Ignored reports whether ids came that the filter should have kept back.
func (t *Tally) Ignored() bool { return len(t.outside) > 0 }

// Overflows reports whether every slice with anything in it was cut short by a full buffer.
func (t *Tally) Overflows() bool { return t.Full > 0 && t.Full == t.Slices }

// Sum is what was heard of the bus beyond diagnostics.
type Sum struct {
	IDs       int
	PerSecond float64 // frames
	Fast      int     // ids that come more often than Tally.Fast a second
}

// Sum adds up what was heard. Where the filter is ignored, every id could be heard all the time.
func (t *Tally) Sum() (s Sum) {
	for id, c := range t.counts() {
		if Diagnostic(t.Form, id) || c.heard <= 0 {
			continue
		}
		s.IDs++
		rate := float64(c.frames) / c.heard.Seconds()
		s.PerSecond += rate
		if rate > t.Fast {
			s.Fast++
		}
	}
	return s
}

// counts are the ids with how often each was heard.
func (t *Tally) counts() map[uint32]count {
	all := map[uint32]count{}
	for id, c := range t.ids {
		all[id] = count{c.frames, t.total}
		if t.Ignored() {
			continue
		}
		for s, d := range t.slices {
			if s.Holds(id) {
				all[id] = count{c.frames, d}
			}
		}
	}
	for id, c := range t.outside {
		all[id] = count{all[id].frames + c.frames, t.total}
	}
	return all
}

// Busiest is the id that was heard most, diagnostics included; ok is false where nothing was heard.
func (t *Tally) Busiest() (id uint32, ok bool) {
	if len(t.ids) == 0 {
		return 0, false
	}
	ids := slices.Sorted(maps.Keys(t.ids))
	return slices.MaxFunc(ids, func(a, b uint32) int { return cmp.Compare(t.ids[a].frames, t.ids[b].frames) }), true
}

// Absent is an id that was not heard, as near below the diagnostic ones as may be.
func (t *Tally) Absent() uint32 {
	id := map[obd.Form]uint32{obd.FormCAN11: 0x6FF, obd.FormCAN29: 0x18D9FFFF}[t.Form]
	for ; t.ids[id].frames+t.outside[id].frames > 0; id-- {
		continue
	}
	return id
}
