package simcar

import (
	"math/rand/v2"
	"sync"
	"time"
)

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
	hostBaud func() int
	traffic  Traffic
	gateway  bool // it keeps the traffic from the socket

	serving chan struct{} // holds one token: who has it may use chip
	wake    chan struct{} // gets a token when a fault is injected
	chip    *chip

	mu      sync.Mutex // guards all below and the ECUs
	started bool
	start   time.Time
	random  *rand.Rand
	faults  faultList
	log     log
	away    time.Duration // TCP stays away until then
}

// New makes a Sim: a car with an engine ECU on CAN, 11-bit ids at 500 kbit/s, and a good
// adapter that answers as fast as it can; options change all of that. Under testing/synctest it must be
// made within the bubble that serves it.
func New(car Car, opts ...Option) *Sim {
	s := &Sim{
		car: car, ecus: []*ECU{EngineECU()}, bus: CAN11at500, profile: Profiles[0], log: log{keep: 1 << 20},
		serving: make(chan struct{}, 1), wake: make(chan struct{}, 1), chip: newChip(defaultBaud), random: rand.New(rand.NewPCG(1, 2)),
	}
	for _, o := range opts {
		o(s)
	}
	s.faults.random = s.random
	s.serving <- struct{}{}
	return s
}

// Now is drive time; before the first Serve it is its start.
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

// chance is a random duration below limit.
func (s *Sim) chance(limit time.Duration) time.Duration { // s.mu is held
	if limit <= 0 {
		return 0
	}
	return time.Duration(s.random.Int64N(int64(limit)))
}
