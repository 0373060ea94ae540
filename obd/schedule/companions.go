package schedule

import (
	"time"

	"github.com/judder-obd/judder/obd"
	"github.com/judder-obd/judder/obd/reply"
)

// companion is a parameter asked beside engine speed.
type companion struct {
	pid    byte
	period time.Duration // wanted between two readings
	group  byte          // of one group only the first that the car supports is asked; 0: none
	spare  bool          // left out on a link of few exchanges, where others say enough
}

// companions in order of worth. Road speed, throttle, pedal and load decide what may be
// judged and are wanted at 3 a second or better (a throttle that moved 0.3 s ago must be
// known); the rest changes slowly. Common practice, no source.
var companions = []companion{
	{0x0D, 200 * time.Millisecond, 0, false},   // vehicle speed
	{0x11, 200 * time.Millisecond, 't', false}, // throttle position
	{0x45, 200 * time.Millisecond, 't', false}, // relative throttle position
	{0x4C, 200 * time.Millisecond, 't', false}, // commanded throttle actuator
	{0x04, 250 * time.Millisecond, 'l', false}, // calculated load
	{0x43, 250 * time.Millisecond, 'l', false}, // absolute load
	{0x5A, 250 * time.Millisecond, 'p', true},  // relative pedal position
	{0x49, 250 * time.Millisecond, 'p', true},  // pedal position D
	{0x0B, time.Second, 'm', true},             // manifold pressure
	{0x10, time.Second, 'm', true},             // air flow
	{0xA4, time.Second, 0, true},               // actual gear and its ratio, where a car reports them
	{0x06, 4 * time.Second, 0, true},           // short-term fuel trim: steady, or moving with a surge
	{0x05, 4 * time.Second, 0, false},          // coolant temperature
	{0x42, 5 * time.Second, 0, false},          // control module voltage
	{0x0F, 20 * time.Second, 0, true},          // intake air temperature
	{0x46, 30 * time.Second, 0, true},          // ambient air temperature
}

// EngineOf is the ECU that can be asked alone: it reports engine speed, has the lowest address of
// those that do (ISO 15765-4 puts the engine first), and no other alone reports what decides what
// may be judged. nil when there is none.
func EngineOf(s *reply.Support) *reply.ECU {
	var engine *reply.ECU
	for i := range s.All {
		e := &s.All[i]
		if e.Has(obd.EngineSpeed) && (engine == nil || e.Name < engine.Name) {
			engine = e
		}
	}
	if engine == nil {
		return nil
	}
	for _, c := range companions {
		if !c.spare && s.Has(c.pid) && !engine.Has(c.pid) {
			return nil
		}
	}
	return engine
}
