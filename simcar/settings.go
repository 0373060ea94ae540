package simcar

import "time"

// settings are what AT D sets back: each with its default of the ELM327 data sheet
// (p.11) in defaultSettings.
type settings struct {
	echo, linefeeds, spaces, headers, lengths bool // E L S H D
	format                                    bool // CAF
	long                                      bool // AL
	replies                                   bool // R
	silent                                    bool // CSM: acknowledges nothing while it monitors
	adaptive                                  int  // AT
	timeout                                   time.Duration
	timeoutUnit                               time.Duration // CTM1, CTM5

	header    uint32
	headerSet bool
	priority  byte // CP
	filter    idFilter
	filterSet bool
	flow      flowSettings
	keyCheck  bool // KW
}

// flowSettings are what the chip sends on a first frame.
type flowSettings struct {
	auto   bool   // CFC
	mode   int    // FCSM: 1 sends header and data as set, 2 data as set
	header uint32 // FCSH
	data   []byte // FCSD
}

// Defaults of the ELM327 data sheet (p.11, p.27).
const (
	defaultTimeout  = 50 * 4 * time.Millisecond // ST 32h
	timeoutTick     = 4 * time.Millisecond
	defaultPriority = 0x18
	defaultBaud     = 38400
	baudClock       = 4_000_000 // baud = 4000/PP0C kbit/s
	defaultBaudWait = 75 * time.Millisecond
)

func defaultSettings() settings {
	return settings{
		echo: true, spaces: true, format: true, flow: flowSettings{auto: true}, replies: true, silent: true, adaptive: 1,
		timeout: defaultTimeout, timeoutUnit: timeoutTick, priority: defaultPriority, keyCheck: true,
	}
}

// chip is the adapter: it outlives connections, as a TCP adapter does.
type chip struct {
	settings
	protocol  Protocol // in use, or to be tried first
	automatic bool     // may search
	saved     Protocol // what a reset goes back to
	savedAuto bool
	memory    bool // M1
	open      bool // protocol initialised
	lastHeard time.Duration
	busFree   time.Duration // K-line: not before this may the next request begin

	last     string // last command, for a bare CR
	learned  time.Duration
	blocked  bool // CAN search forbidden after ERR94
	asleep   bool
	baud     int
	powerUp  int // baud after a full reset
	baudWait time.Duration
	id       string // AT @3 text
}

func newChip(baud int) *chip {
	c := &chip{savedAuto: true, memory: true, powerUp: baud, baudWait: defaultBaudWait}
	c.resetFully()
	return c
}

// reset is what AT WS does; the speed stays.
func (c *chip) reset() {
	c.settings = defaultSettings()
	c.protocol, c.automatic = c.saved, c.savedAuto
	c.open, c.asleep = false, false
	c.last, c.learned = "", 0
}

// resetFully is what AT Z and a brown-out do: the speed goes back too.
func (c *chip) resetFully() {
	c.reset()
	c.baud = c.powerUp
}

// setProtocol is AT SP and AT TP.
func (c *chip) setProtocol(p Protocol, automatic, save bool) {
	if p == Automatic {
		automatic = true
	}
	c.protocol, c.automatic, c.open = p, automatic, false
	if save && c.memory {
		c.saved, c.savedAuto = p, automatic
	}
}

// Adaptive timing (ELM327 data sheet p.27 says only what it is for; the factors are a
// choice made here): the wait follows the slowest recent reply.
func (c *chip) wait() time.Duration {
	if c.adaptive == 0 || c.learned == 0 {
		return c.timeout
	}
	w := 2*c.learned + 20*time.Millisecond
	if c.adaptive == 2 {
		w = c.learned + c.learned/4 + 12*time.Millisecond
	}
	return min(w, c.timeout)
}

// learn takes in how long a reply took.
func (c *chip) learn(took time.Duration) {
	if took > c.learned {
		c.learned = took
		return
	}
	c.learned -= (c.learned - took) / 8
}
