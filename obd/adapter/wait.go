package adapter

import (
	"fmt"
	"time"

	"github.com/judder-obd/judder/obd"
)

// Wait is how long an adapter waits for a reply, and after the last one for more. It alone
// sends AT ST and AT AT. It is in one of three states:
//
//	own      as the adapter has it: 200 ms (ELM327 data sheet p. 27), shortened by its adaptive timing
//	learnt   set to what this car's replies need, and proved on them; or to what further ECUs may need
//	longest  about 1 s, while an ECU asks to wait (7F xx 78)
//
// Where neither the count digit nor adaptive timing shortens the wait, as with some copies, 4
// readings a second are left; a wait that is learnt brings 16 to 25. The longest wait after every reply costs
// most of the readings, so it is left as soon as nobody asks for it.
type Wait struct {
	settings *settings
	car      *Car
	adaptive bool // adaptive timing is on
	set      ticks
	learnt   ticks // to return to; 0: its own
	further  bool  // it is meant for further ECUs, not learnt from the engine's
	alone    bool  // one of them is asked alone: no adaptive timing
	calm     int   // good replies in a row since one that asked to wait
	relearn  relearn
}

// ticks are what AT ST counts in: 4 ms each (ELM327 data sheet p. 27). 0 is the adapter's default.
type ticks int

const (
	tick         = 4 * time.Millisecond
	ticksOwn     = ticks(0)
	ticksFurther = ticks(0x64) // 400 ms: ECUs behind a gateway answer late (common practice, no source)
	ticksNear    = ticks(0x32) // 200 ms, as the adapter's own: for an ECU that has shown that it answers soon
	ticksMost    = ticks(0xFF)
	ticksUnknown = ticks(-1)
	calmAfter    = 3 // good replies in a row after which the longest wait is left in a drive
)

// relearn is when a wait is learnt again: what was learnt at set-up may cease to hold.
type relearn struct {
	long    int           // exchanges in a row after which the adapter waited long
	starved int           // times that the wait was given up because replies were missing
	at      time.Duration // when it was last learnt or given up
	pause   time.Duration // until it is learnt again, doubled each time that it was given up
}

// reset follows the adapter's own reset.
func (w *Wait) reset() {
	*w = Wait{settings: w.settings, car: w.car, adaptive: true}
}

// own are the settings of the adapter's own wait that a set-up sends.
func (w *Wait) own() []string { return []string{"ATAT1"} }

// Learnt is the wait that was learnt from this car; 0 where it is the adapter's own.
func (w *Wait) Learnt() time.Duration {
	if w.further {
		return 0
	}
	return time.Duration(w.learnt) * tick
}

// Longest has the adapter wait its longest.
func (w *Wait) Longest() error {
	w.calm = 0
	return w.to(false, ticksMost)
}

// pendingListen is how long an answer is listened for that may come after "wait".
const pendingListen = time.Second

// Pending has the adapter wait its longest when an ECU asks to wait, because at its prompt it hears
// nothing of the bus; and first listens for what it may put out all the same.
func (w *Wait) Pending() error {
	if err := w.settings.Listen(pendingListen); err != nil {
		return err
	}
	return w.Longest()
}

// IsLongest reports whether the adapter waits its longest.
func (w *Wait) IsLongest() bool { return w.set == ticksMost && !w.adaptive }

// Back leaves the longest wait for what was before.
func (w *Wait) Back() error { return w.to(!w.alone, w.learnt) }

// Calm takes in a good reply of a drive: after some in a row the longest wait is left.
func (w *Wait) Calm() error {
	if !w.IsLongest() {
		return nil
	}
	if w.calm++; w.calm < calmAfter {
		return nil
	}
	return w.Back()
}

// ForFurther sets the wait to what further ECUs may need; alone while one of them is asked, whose
// replies adaptive timing has not learnt.
func (w *Wait) ForFurther(alone bool) error {
	w.learnt, w.further, w.alone = ticksFurther, true, alone
	return w.to(!alone, ticksFurther)
}

// ForNear shortens the wait for the ECU that is asked alone, which has shown that it answers soon:
// after each of its replies the adapter waits for more, which is not to come.
func (w *Wait) ForNear() error {
	if !w.alone || w.IsLongest() {
		return nil
	}
	w.learnt = ticksNear
	return w.to(false, ticksNear)
}

// to sends what is not set already. Adaptive timing comes first: with it on, AT ST is only where
// it begins.
func (w *Wait) to(adaptive bool, set ticks) error {
	if adaptive != w.adaptive {
		w.adaptive = adaptive
		if err := w.settings.set(map[bool]string{false: "ATAT0", true: "ATAT1"}[adaptive]); err != nil {
			return err
		}
	}
	if set == w.set {
		return nil
	}
	w.set = set
	return w.settings.set(fmt.Sprintf("ATST%02X", int(set)))
}

// Try compares two ways: adaptive timing off or on, each from the adapter's own wait. Back ends it.
func (w *Wait) Try(adaptive bool) error { return w.to(adaptive, ticksOwn) }

// FixedOnly reports whether the adapter refuses adaptive timing.
func (w *Wait) FixedOnly() bool { return w.settings.refused["ATAT1"] }

// giveUp gives the adapter its own wait back; useless where another brings nothing.
func (w *Wait) giveUp(now time.Duration, useless bool) error {
	w.later(now, useless)
	w.learnt = ticksOwn
	return w.to(true, ticksOwn)
}

const (
	learnAgain  = 5 * time.Second
	learnSeldom = 5 * time.Minute
	longWaits   = 20 // exchanges in a row after which a long wait is none by chance
	starvedMost = 2  // then an ECU is silent whatever the wait
)

// later says when the wait may be learnt again: seldom where there is nothing to gain, else
// after a pause that doubles, unless it did well for long.
func (w *Wait) later(now time.Duration, useless bool) {
	r := &w.relearn
	r.pause = min(max(2*r.pause, learnAgain), learnSeldom)
	switch {
	case useless:
		r.pause = learnSeldom
	case now > r.at+learnSeldom:
		r.pause = learnAgain
	}
	r.long, r.at = 0, now
}

// Watch looks after an answered request of a drive whether the wait is as it should be. missing
// reports that some request keeps bringing fewer replies than it did.
func (w *Wait) Watch(x *obd.Exchange, missing bool) error {
	r := &w.relearn
	if r.long++; len(x.Lines) == 0 || x.Done-x.Lines[len(x.Lines)-1].At < w.Learnt()+learnFrom {
		r.long = 0
	}
	if missing && w.learnt > 0 && r.starved < starvedMost {
		r.starved++ // some reply no longer comes in time, or its ECU is out of sorts
		return w.giveUp(x.Done, false)
	}
	switch {
	case r.long < longWaits || w.IsLongest():
		return nil
	case w.learnt > 0: // the adapter forgot it
		r.long, w.set = 0, ticksUnknown
		return w.Back()
	case x.Done < r.at+r.pause:
		return nil
	}
	return w.Learn()
}

// Doubted gives the adapter its own wait back where one was learnt: this car may need longer than
// it did. It reports whether it did so.
func (w *Wait) Doubted() (bool, error) {
	if w.learnt == 0 {
		return false, nil
	}
	return true, w.giveUp(w.car.Now(), false)
}
