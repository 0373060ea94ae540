package simcar

import (
	"slices"
	"time"
)

// DigitMode is what an adapter does with the response-count digit.
type DigitMode uint8

// The modes.
const (
	DigitCountsMessages DigitMode = iota // returns after so many whole messages
	DigitCountsFrames                    // returns after so many frames
	DigitIgnored                         // cuts the digit off and waits as ever
	DigitSent                            // sends it to the car as one more data byte
)

// Profile is the character of an adapter. The zero values of all fields but the texts
// are those of a good one.
type Profile struct {
	Name, Version, Device string

	Missing []string // commands answered "?", by their name in the command table
	Pretend []string // commands answered "OK" that do nothing
	Digit   DigitMode

	MaxRequest      int           // data bytes of a request; the rest is cut off silently; 0: no limit of its own
	CutPadding      bool          // shows CAN frames without what lies beyond their length
	NoLengthLine    bool          // long replies come without the line of their length
	AdaptiveIgnored bool          // always waits the full ST time
	EchoStuck       bool          // echoes whatever AT E says
	SpacesStuck     bool          // spaces whatever AT S says
	Prompt          string        // instead of CR and ">"
	LineEnd         string        // instead of CR (or CR LF)
	Chunk           int           // output comes in pieces of so many bytes, 0: whole
	ChunkGap        time.Duration // between the pieces
	Buffer          int           // characters of a reply before BUFFER FULL; 0: no limit
	Latency         time.Duration // of its own, before each reply
	// FlowAnywhere: flow control comes by itself for 11-bit replies outside 7E8…7EF too, 8
	// below the reply. No source says what a good one does; others stop at the first frame.
	FlowAnywhere bool
	// FunctionalUnheard: on CAN a request to the functional address is heard by nobody once AT SH
	// has named it, 7DF or DB33F1; each ECU answers at its own address, and all of them answer
	// as long as no AT SH was sent (seen in an independent emulator of an adapter).
	FunctionalUnheard bool
	// WaitsPending: after 7F xx 78 it waits for the reply up to 5 s (ELM327 data sheet p.73,
	// option byte 2A: the default since about v2.1); others are back at the prompt after ST.
	WaitsPending bool
	Monitor      MonitorFlaws
}

// Profiles is the table of adapters. The kinds of misbehaviour are common practice, no
// source; which of them come together in one adapter is a choice made here.
var Profiles = []Profile{
	{Name: "genuine", Version: "ELM327 v2.2", Device: "OBDII to RS232 Interpreter", WaitsPending: true},
	{Name: "patient", Version: "ELM327 v2.2", Device: "OBDII to RS232 Interpreter", WaitsPending: true},
	{Name: "older", Version: "ELM327 v1.4b", Device: "OBDII to RS232 Interpreter", Missing: []string{"CTM", "CRA"}},
	{Name: "v1.5", Version: "ELM327 v1.5", Device: "OBDII to RS232 Interpreter",
		Missing: []string{"@2", "@3", "PPS", "PP", "CTM", "KW", "BRD", "BRT", "CEA"}, Pretend: []string{"AT"},
		CutPadding: true, AdaptiveIgnored: true, Digit: DigitCountsFrames, Latency: 3 * time.Millisecond, FlowAnywhere: true},
	{Name: "v2.1", Version: "ELM327 v2.1", Device: "OBDII to RS232 Interpreter",
		Missing: []string{"@2", "AL", "PP", "PPS", "BRD", "RV", "DPN"}, Pretend: []string{"AT", "CRA", "FCSM", "FCSH", "FCSD", "AL"},
		MaxRequest: 3, Digit: DigitSent, AdaptiveIgnored: true, CutPadding: true, Latency: 8 * time.Millisecond},
	{Name: "ignores-digit", Version: "ELM327 v1.5", Device: "OBDII to RS232 Interpreter",
		Digit: DigitIgnored, AdaptiveIgnored: true, Pretend: []string{"AT"}},
	{Name: "no-headers", Version: "ELM327 v1.5", Device: "OBDII", Missing: []string{"H1", "S0", "CAF0", "BRD", "CRA"}, CutPadding: true},
	{Name: "talkative", Version: "ELM327 v1.5", Device: "OBDII", EchoStuck: true, SpacesStuck: true,
		Prompt: "\r>\r>", LineEnd: "\r\n", Chunk: 5, ChunkGap: 2 * time.Millisecond},
	{Name: "bare-prompt", Version: "ELM327 v1.5", Device: "OBDII", Prompt: ">", Chunk: 3, NoLengthLine: true},
	{Name: "small-buffer", Version: "ELM327 v1.5", Device: "OBDII", Buffer: 40, MaxRequest: 2},
}

// LimitedProfiles is the table of adapters that can show only a part of a car with several
// ECUs, or only where each is asked in another way. A test that expects every reading behind
// every adapter goes over Profiles.
var LimitedProfiles = []Profile{
	// No headers, though AT H1 gets OK; one ECU can be asked alone by AT SH.
	{Name: "claims-headers", Version: "ELM327 v1.5", Device: "OBDII", Pretend: []string{"H1"}},
	// No headers, and AT SH changes nothing: every ECU answers, whichever is asked.
	{Name: "fixed-address", Version: "ELM327 v1.5", Device: "OBDII", Missing: []string{"H1"}, Pretend: []string{"SH", "CRA"}},
	{Name: "own-address-only", Version: "ELM327 v1.5", Device: "OBDII", FunctionalUnheard: true},
}

// ListeningProfiles is the table of adapters that ask as good ones do, and fail when they are to
// listen to the bus.
var ListeningProfiles = []Profile{
	{Name: "no-monitor", Version: "ELM327 v1.5", Device: "OBDII", Missing: []string{"MA"}},
	{Name: "no-filter", Version: "ELM327 v1.5", Device: "OBDII", Missing: []string{"CF", "CM"}},
	{Name: "says-ok", Version: "ELM327 v1.5", Device: "OBDII", Pretend: []string{"MA"}},
	{Name: "ignores-filter", Version: "ELM327 v1.5", Device: "OBDII", Pretend: []string{"CRA", "CF", "CM"}},
	{Name: "chokes", Version: "ELM327 v1.5", Device: "OBDII", Monitor: MonitorFlaws{Room: 64}},
	{Name: "stops-late", Version: "ELM327 v1.5", Device: "OBDII", Monitor: MonitorFlaws{StopLate: 600 * time.Millisecond}},
	{Name: "hangs-up", Version: "ELM327 v1.5", Device: "OBDII", Monitor: MonitorFlaws{HangsUp: true}},
	{Name: "mask-only", Version: "ELM327 v1.2", Device: "OBDII", Missing: []string{"AR", "CRA"}},
	{Name: "auto-only", Version: "ELM327 v1.5", Device: "OBDII", Missing: []string{"TP6"}},
	{Name: "stays-automatic", Version: "ELM327 v1.5", Device: "OBDII", Pretend: []string{"TP6"}},
	{Name: "blind", Version: "ELM327 v1.5", Device: "OBDII", Monitor: MonitorFlaws{Blind: true}},
}

// AllProfiles are the rows of all tables.
func AllProfiles() []Profile { return slices.Concat(Profiles, LimitedProfiles, ListeningProfiles) }

// ProfileNamed finds a row of AllProfiles.
func ProfileNamed(name string) (Profile, bool) {
	for _, p := range AllProfiles() {
		if p.Name == name {
			return p, true
		}
	}
	return Profile{}, false
}
