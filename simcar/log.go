package simcar

import "time"

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

// log is what came and what was given, for tests to look at. The Sim's lock guards it.
type log struct {
	keep     int // so many requests and readings at most
	requests []Request
	readings []Reading
	sent     []Transmission
	asked    [256]int // requests by service
}

// Transmission is something that the adapter put on the bus.
type Transmission struct {
	At   time.Duration // drive time
	ID   uint32        // of the frame; on the older buses the three header bytes
	What TransmissionKind
}

// TransmissionKind is what was sent.
type TransmissionKind uint8

// The kinds.
const (
	BusRequest      TransmissionKind = iota // a request of the host
	FlowControl                             // after a first frame (ISO 15765-2)
	BusSearch                               // one try of a search for the protocol, or its initialisation
	Acknowledgement                         // of a frame while monitoring, without AT CSM1
)

// Transmissions lists what the adapter put on the bus, in order: with AT MA well done, nothing.
func (s *Sim) Transmissions() []Transmission {
	s.mu.Lock()
	defer s.mu.Unlock()
	return append([]Transmission(nil), s.log.sent...)
}

// noteSent keeps a transmission, at the time of now.
func (s *Sim) noteSent(t Transmission) {
	s.mu.Lock()
	defer s.mu.Unlock()
	s.noteSentHeld(t)
}

// noteSentHeld is noteSent where the Sim's lock is held.
func (s *Sim) noteSentHeld(t Transmission) {
	t.At = s.now()
	s.log.sent = append(bounded(s.log.sent, s.log.keep), t)
}

// Requests lists the lines received, in order.
func (s *Sim) Requests() []Request {
	s.mu.Lock()
	defer s.mu.Unlock()
	return append([]Request(nil), s.log.requests...)
}

// Given lists the readings that the host was truly given, in order.
func (s *Sim) Given() []Reading {
	s.mu.Lock()
	defer s.mu.Unlock()
	return append([]Reading(nil), s.log.readings...)
}

// WriteAttempts counts the requests received that would have changed the car: clearing
// codes, control, writing, sessions, resets. Those that no ECU heard count too.
func (s *Sim) WriteAttempts() int {
	s.mu.Lock()
	defer s.mu.Unlock()
	n := 0
	for service, times := range s.log.asked {
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
	return s.log.asked[service]
}

// ClearAttempts counts the requests received that would have cleared codes: services $04 and $14.
func (s *Sim) ClearAttempts() int { return s.Asked(0x04) + s.Asked(0x14) }

func (s *Sim) noteRequest(text string) {
	s.mu.Lock()
	defer s.mu.Unlock()
	s.log.requests = append(bounded(s.log.requests, s.log.keep), Request{s.now(), text})
}

func (s *Sim) noteReadings(at time.Duration, ecu string, readings []Reading) {
	if len(readings) == 0 {
		return
	}
	s.mu.Lock()
	defer s.mu.Unlock()
	for _, r := range readings {
		r.At, r.ECU = at, ecu
		s.log.readings = append(bounded(s.log.readings, s.log.keep), r)
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
