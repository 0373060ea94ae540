// Package obd holds the values that everything about the dialogue with the car speaks of: an
// exchange, the state of the link, an ECU's addresses, a request, what adapter and car can do.
// The rooms below it do the work, bottom up: isotp and reply read, elm writes, schedule
// chooses, adapter connects, drive polls, inquiry asks.
package obd

import "time"

// Exchange is one request and all that came back for it, as raw text. It is the single
// seam of the program: a live drive and a recording both arrive as exchanges.
type Exchange struct {
	Sent    time.Duration // when the request was written, since the start of the session
	Request string        // as written, without the carriage return: "010C0D1", "ATH1"
	Lines   []Line        // reply lines in order of arrival, without echo and empty lines
	Done    time.Duration // when the prompt came, or when the wait was given up
	Ending  Ending
	Form    Form // how the reply lines are laid out
}

// Line is one line of a reply.
type Line struct {
	At   time.Duration // when the line's last byte came, since the start of the session
	Text string        // raw bytes between line ends; may hold anything a faulty link sends
}

// Ending says how an exchange ended.
type Ending uint8

// The ways an exchange ends.
const (
	EndPrompt  Ending = iota // the adapter showed its prompt
	EndSilence               // no prompt within the time allowed
	EndLost                  // the link was lost while waiting
)

// Form is the layout of reply lines, which depends on the bus and on the adapter's settings.
type Form uint8

// The layouts.
const (
	FormUnknown Form = iota // adapter answers, or not known yet
	FormCAN11               // "7E8 04 41 0C 1A F8": 11-bit header, PCI, data
	FormCAN29               // "18 DA F1 10 04 41 0C 1A F8": 29-bit header, PCI, data
	FormKLine               // "48 6B 10 41 0C 1A F8 22": three header bytes, data, sum (ISO 9141-2, ISO 14230)
	FormJ1850               // "48 6B 10 41 0C 1A F8 B2": three header bytes, data, CRC (SAE J1850)
	FormBare                // "41 0C 1A F8": no header; "014" and "0: ..." when long
)

// CAN reports whether the lines show frames of CAN with their identifiers.
func (f Form) CAN() bool { return f == FormCAN11 || f == FormCAN29 }

// LinkChange is the link being found, lost, or found wanting.
type LinkChange struct {
	At    time.Duration
	State LinkState
	Cause Cause
	Text  string // what happened, in words, with names and the adapter's own texts; no control characters
}

// LinkState is the state of the way to the car.
type LinkState uint8

// The states, from nothing to a car that answers.
const (
	LinkClosed  LinkState = iota // no port
	LinkOpening                  // port open or opening, adapter not yet known
	LinkAdapter                  // adapter answers, car does not (ignition off?)
	LinkCar                      // the car answers
)
