package simcar

import (
	"math/rand/v2"
	"time"
)

// Option changes what New makes.
type Option func(*Sim)

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

// StartAt begins drive time at d instead of zero.
func StartAt(d time.Duration) Option { return func(s *Sim) { s.offset = d } }

// PacedAt sends and takes characters no faster than a serial line at this speed, so that
// a pipe or a TCP connection feels like one.
func PacedAt(baud int) Option {
	return func(s *Sim) { s.chip.baud, s.chip.powerUp, s.paced = baud, baud, true }
}

// HostBaud gives the speed at which the host listens; where it differs from the adapter's,
// only junk goes either way. Without it the speeds are taken to agree. It is
// called from the serving goroutine.
func HostBaud(baud func() int) Option { return func(s *Sim) { s.hostBaud = baud } }

// Instant takes away all delays of the ECUs, the buses and the adapter.
func Instant() Option { return func(s *Sim) { s.instant = true } }

// Keep bounds how many requests and readings are kept; the oldest half goes when it is
// reached. The default is 1048576.
func Keep(n int) Option { return func(s *Sim) { s.log.keep = max(n, 2) } }

// Baud is the adapter's serial speed; to be called from HostBaud or when nothing is served.
func (s *Sim) Baud() int { return s.chip.baud }
