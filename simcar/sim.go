package simcar

import (
	"math/rand/v2"
	"sync"
	"time"
)

// Request is one line that the adapter received, control characters and spaces removed.
type Request struct {
	At   time.Duration // drive time at which its carriage return came
	Text string
}

// Reading is one value that an ECU truly gave and the adapter put out unhurt, in reply
// to its request.
type Reading struct {
	At      time.Duration // drive time at which the reply's last line was complete
	ECU     string        // as a header shows it: "7E8", "18DAF110", "10"
	Service byte          // 01, 02 or 22
	PID     byte
	Value   float64 // as coded, in the unit of SAE J1979
}

// Sim is a simulated adapter with a car behind it. One connection is served at a time;
// the adapter's settings outlive it. All methods may be called from any goroutine.
type Sim struct {
	car      Car
	ecus     []*ECU
	bus      Protocol
	profile  Profile
	paced    bool
	instant  bool
	offset   time.Duration
	keep     int
	hostBaud func() int

	serving chan struct{} // holds one token: who has it may use chip
	wake    chan struct{} // told when a fault is injected
	chip    *chip

	mu       sync.Mutex // guards all below and the ECUs
	started  bool
	start    time.Time
	random   *rand.Rand
	faults   faultList
	requests []Request
	readings []Reading
	asked    [256]int      // requests by service
	away     time.Duration // TCP stays away until then
}

// New makes a Sim: a car with an engine ECU on CAN, 11-bit ids at 500 kbit/s, and a good
// adapter that answers as fast as it can; options change all of that. Under testing/synctest it must be
// made within the bubble that serves it.
func New(car Car, opts ...Option) *Sim {
	s := &Sim{
		car: car, ecus: []*ECU{EngineECU()}, bus: CAN11at500, profile: Profiles[0], keep: 1 << 20,
		serving: make(chan struct{}, 1), wake: make(chan struct{}, 1), chip: newChip(defaultBaud), random: rand.New(rand.NewPCG(1, 2)),
	}
	for _, o := range opts {
		o(s)
	}
	s.faults.random = s.random
	s.serving <- struct{}{}
	return s
}

// Now is drive time; before the first Serve it stands at its start.
func (s *Sim) Now() time.Duration {
	s.mu.Lock()
	defer s.mu.Unlock()
	return s.now()
}

func (s *Sim) now() time.Duration {
	if !s.started {
		return s.offset
	}
	return s.offset + time.Since(s.start)
}

// Change calls f while no ECU is answering, so that f may change them and what they hold.
func (s *Sim) Change(f func(ecus []*ECU)) {
	s.mu.Lock()
	defer s.mu.Unlock()
	f(s.ecus)
}

// Inject adds a fault; one with a zero At strikes at once or at the next exchange if its
// kind needs one.
func (s *Sim) Inject(f Fault) {
	s.mu.Lock()
	if f.At == 0 {
		f.At = s.now()
	}
	s.faults.rows = append(s.faults.rows, f)
	s.mu.Unlock()
	select {
	case s.wake <- struct{}{}:
	default:
	}
}

// Strikes lists the faults that did strike, in order; lasting states are not among them.
func (s *Sim) Strikes() []Strike {
	s.mu.Lock()
	defer s.mu.Unlock()
	return append([]Strike(nil), s.faults.strikes...)
}

// Requests lists the lines received, in order.
func (s *Sim) Requests() []Request {
	s.mu.Lock()
	defer s.mu.Unlock()
	return append([]Request(nil), s.requests...)
}

// Given lists the readings that the host was truly given, in order.
func (s *Sim) Given() []Reading {
	s.mu.Lock()
	defer s.mu.Unlock()
	return append([]Reading(nil), s.readings...)
}

// WriteAttempts counts the requests received that would have changed the car: clearing
// codes, control, writing, sessions, resets. Those that no ECU heard count too.
func (s *Sim) WriteAttempts() int {
	s.mu.Lock()
	defer s.mu.Unlock()
	n := 0
	for service, times := range s.asked {
		if writing[service] {
			n += times
		}
	}
	return n
}

// Asked counts the requests received for a service, those that no ECU heard among them.
func (s *Sim) Asked(service byte) int {
	s.mu.Lock()
	defer s.mu.Unlock()
	return s.asked[service]
}

// ClearAttempts counts the requests received that would have cleared codes: services $04 and $14.
func (s *Sim) ClearAttempts() int { return s.Asked(0x04) + s.Asked(0x14) }

func (s *Sim) noteRequest(text string) {
	s.mu.Lock()
	defer s.mu.Unlock()
	s.requests = append(bounded(s.requests, s.keep), Request{s.now(), text})
}

func (s *Sim) noteReadings(at time.Duration, ecu string, readings []Reading) {
	if len(readings) == 0 {
		return
	}
	s.mu.Lock()
	defer s.mu.Unlock()
	for _, r := range readings {
		r.At, r.ECU = at, ecu
		s.readings = append(bounded(s.readings, s.keep), r)
	}
}

// bounded drops the older half of a list that is full.
func bounded[T any](list []T, limit int) []T {
	if len(list) < limit {
		return list
	}
	n := copy(list, list[len(list)/2:])
	return list[:n]
}

// chance is a random duration below limit.
func (s *Sim) chance(limit time.Duration) time.Duration { // s.mu is held
	if limit <= 0 {
		return 0
	}
	return time.Duration(s.random.Int64N(int64(limit)))
}
