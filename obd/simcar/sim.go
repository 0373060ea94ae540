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

// Reading is one value that an ECU truly gave and the adapter put out unhurt.
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
	writes   int
	away     time.Duration // TCP stays away until then
}

// Option changes what New makes.
type Option func(*Sim)

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

// WithECUs replaces the ECUs.
func WithECUs(ecus ...*ECU) Option { return func(s *Sim) { s.ecus = ecus } }

// OnBus puts the car on another bus. It panics on a protocol that no OBD car has.
func OnBus(p Protocol) Option {
	if !p.isOBD() {
		panic("simcar: OnBus: not a protocol of an OBD car")
	}
	return func(s *Sim) { s.bus = p }
}

// WithProfile gives the adapter another character.
func WithProfile(p Profile) Option { return func(s *Sim) { s.profile = p } }

// WithFaults adds faults.
func WithFaults(faults ...Fault) Option {
	return func(s *Sim) { s.faults.rows = append(s.faults.rows, faults...) }
}

// Seed starts the random numbers of jitter and faults; the same seed and the same
// requests at the same times give the same drive.
func Seed(n uint64) Option {
	return func(s *Sim) { s.random = rand.New(rand.NewPCG(n, n^0x9E3779B97F4A7C15)) }
}

// StartAt begins drive time at d in place of zero.
func StartAt(d time.Duration) Option { return func(s *Sim) { s.offset = d } }

// PacedAt sends and takes characters no faster than a serial line at this speed, so that
// a pipe or a TCP connection feels like one.
func PacedAt(baud int) Option {
	return func(s *Sim) { s.chip.baud, s.paced = baud, true }
}

// HostBaud tells the adapter at which speed the host listens; at any other than its own
// only junk goes either way. Without it the speeds are taken to agree.
func HostBaud(baud func() int) Option { return func(s *Sim) { s.hostBaud = baud } }

// Instant takes away all delays of the ECUs, the buses and the adapter.
func Instant() Option { return func(s *Sim) { s.instant = true } }

// Keep bounds how many requests and readings are kept; the oldest half goes when it is
// reached. The default is 1048576.
func Keep(n int) Option { return func(s *Sim) { s.keep = max(n, 2) } }

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
	return s.writes
}

func (s *Sim) noteRequest(text string) {
	s.mu.Lock()
	defer s.mu.Unlock()
	s.requests = append(bounded(s.requests, s.keep), Request{s.now(), text})
}

func (s *Sim) noteReadings(ecu string, readings []Reading) {
	if len(readings) == 0 {
		return
	}
	s.mu.Lock()
	defer s.mu.Unlock()
	now := s.now()
	for _, r := range readings {
		r.At, r.ECU = now, ecu
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
