package session

import (
	"time"

	"github.com/judder-obd/judder/detect"
	"github.com/judder-obd/judder/detect/steps"
	"github.com/judder-obd/judder/pids"
	"github.com/judder-obd/judder/pids/vehicle"
	"github.com/judder-obd/judder/session/recording"
)

// stepBook is what the ledger of causes needs of a drive beyond what the detector keeps: the steps that
// were recognised, misfire counts, and what was read in each second.
type stepBook struct {
	watch  *steps.Watch
	counts countWatch
	second seconds
}

func newStepBook() stepBook { return stepBook{watch: steps.New()} }

// asGear is a sample as the standard names it, where the vehicle profile has the gear.
func asGear(s pids.Sample, role vehicle.Role) pids.Sample {
	if role == vehicle.RoleGear {
		s.Signal = pids.GearAct
	}
	return s
}

// push takes a sample.
func (b *stepBook) push(s pids.Sample) {
	b.watch.Push(s)
	b.second.take(&s)
}

// arm takes the entry by which a step is announced; a code of a later version announces nothing.
func (b *stepBook) arm(e *recording.Entry) {
	if k, ok := steps.KindByCode(e.Arm); ok {
		b.watch.Arm(k, e.At)
		return
	}
	b.watch.Disarm(e.At)
}

// contrasts are those of every kind of step that was made in a shake. In a drive that was neither seen
// nor felt to shake, only steps that were announced count.
func (b *stepBook) contrasts(events []detect.Event, shaken bool) (all []steps.Contrast) {
	for k := range steps.Kind(steps.KindCount) {
		in := b.during(k)
		if shaken {
			in = nil
		}
		if c := steps.Compare(k, b.watch.Found(), events, in); c.With > 0 {
			all = append(all, c)
		}
	}
	return all
}

// armed is the announcement that is in force; nil for none.
func (b *stepBook) armed() *steps.Armed {
	spans := b.watch.Armed()
	if n := len(spans); n > 0 && spans[n-1].End == 0 {
		return &spans[n-1]
	}
	return nil
}

// during reports whether a time lies where steps of a kind were announced.
func (b *stepBook) during(k steps.Kind) func(time.Duration) bool {
	return func(at time.Duration) bool {
		for _, a := range b.watch.Armed() {
			if a.Kind == k && a.Covers(at) {
				return true
			}
		}
		return false
	}
}

// ArmStep announces a step that is about to be made; what was announced before is over.
func (l *Live) ArmStep(k steps.Kind) {
	l.mark(func(at time.Duration) recording.Entry { return recording.Arm(at, k.Code()) })
}

// Disarm ends what was announced.
func (l *Live) Disarm() {
	l.mark(func(at time.Duration) recording.Entry { return recording.Arm(at, "") })
}
