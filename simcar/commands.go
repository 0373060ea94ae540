package simcar

import (
	"slices"
	"strings"
	"time"
)

// command is one AT command: its name without "AT" and without its argument, how many
// characters the argument may have, and what it does. The argument is hexadecimal unless
// any is set. It returns the answer and whether it is understood.
type command struct {
	name    string
	lengths []int
	any     bool
	do      func(d *dialogue, arg string) (answer string, ok bool)
}

// special answers of a command.
const (
	answerOK   = "OK"
	answerNone = "\x00" // the command has already said all, prompt included
)

// commands is the table (ELM327 data sheet p.10 ff.). The longest name that fits wins.
var commands = slices.Concat(resetCommands, formatCommands, protocolCommands, timingCommands, addressCommands, wakeCommands, supplyCommands)

// resetCommands start over and say who answers.
var resetCommands = []command{
	{"Z", none, false, (*dialogue).resetAll},
	{"WS", none, false, (*dialogue).resetWarm},
	{"D", none, false, func(d *dialogue, _ string) (string, bool) {
		d.chip.settings = defaultSettings()
		return answerOK, true
	}},
	{"I", none, false, func(d *dialogue, _ string) (string, bool) { return d.sim.profile.Version, true }},
	{"@1", none, false, func(d *dialogue, _ string) (string, bool) { return d.sim.profile.Device, true }},
	{"@2", none, false, func(d *dialogue, _ string) (string, bool) { return d.chip.id, d.chip.id != "" }},
	{"@3", []int{12}, true, func(d *dialogue, arg string) (string, bool) {
		d.chip.id = arg
		return answerOK, true
	}},
}

// formatCommands set the form of replies.
var formatCommands = []command{
	{"E", bit, false, flag(func(s *settings) *bool { return &s.echo })},
	{"L", bit, false, flag(func(s *settings) *bool { return &s.linefeeds })},
	{"S", bit, false, flag(func(s *settings) *bool { return &s.spaces })},
	{"H", bit, false, flag(func(s *settings) *bool { return &s.headers })},
	{"D", bit, false, flag(func(s *settings) *bool { return &s.lengths })},
	{"R", bit, false, flag(func(s *settings) *bool { return &s.replies })},
	{"CAF", bit, false, flag(func(s *settings) *bool { return &s.format })},
	{"CFC", bit, false, flag(func(s *settings) *bool { return &s.flow.auto })},
	{"KW", bit, false, flag(func(s *settings) *bool { return &s.keyCheck })},
	{"AL", none, false, set(func(s *settings) { s.long = true })},
	{"NL", none, false, set(func(s *settings) { s.long = false })},
	{"CTM", bit, false, func(d *dialogue, arg string) (string, bool) {
		unit, ok := map[string]time.Duration{"1": timeoutTick, "5": 5 * timeoutTick}[arg]
		if ok {
			d.chip.timeoutUnit = unit
		}
		return answerOK, ok
	}},
	{"M", bit, false, func(d *dialogue, arg string) (string, bool) {
		d.chip.memory = arg == "1"
		return answerOK, arg <= "1"
	}},
}

// protocolCommands choose the bus.
var protocolCommands = []command{
	{"SP", []int{1, 2}, false, selectProtocol(true)},
	{"TP", []int{1, 2}, false, selectProtocol(false)},
	{"SS", none, false, func(d *dialogue, _ string) (string, bool) {
		d.chip.setProtocol(Automatic, true, false)
		return answerOK, true
	}},
	{"DP", none, false, func(d *dialogue, _ string) (string, bool) { return d.chip.describe(), true }},
	{"DPN", none, false, func(d *dialogue, _ string) (string, bool) { return d.chip.number(), true }},
	{"PC", none, false, func(d *dialogue, _ string) (string, bool) {
		d.chip.open = false
		return answerOK, true
	}},
	{"FE", none, false, func(d *dialogue, _ string) (string, bool) {
		d.chip.blocked = false
		return answerOK, true
	}},
}

// timingCommands set how long to wait.
var timingCommands = []command{
	{"ST", []int{2}, false, setTimeout},
	{"AT", []int{1}, false, func(d *dialogue, arg string) (string, bool) {
		if arg > "2" {
			return "", false
		}
		d.chip.adaptive = int(arg[0] - '0')
		return answerOK, true
	}},
}

// addressCommands set headers and filters.
var addressCommands = []command{
	{"SH", []int{3, 6, 8}, false, setHeader},
	{"CP", []int{2}, false, func(d *dialogue, arg string) (string, bool) {
		d.chip.priority = byte(hexNumber(arg)) & 0x1F
		return answerOK, true
	}},
	{"CRA", []int{0, 3, 8}, true, setReceiveAddress},
	{"CF", []int{3, 8}, false, func(d *dialogue, arg string) (string, bool) {
		if !d.chip.filterSet {
			d.chip.filter.mask = 0x1FFFFFFF
		}
		d.chip.filter.value, d.chip.filterSet = hexNumber(arg), true
		return answerOK, true
	}},
	{"CM", []int{3, 8}, false, func(d *dialogue, arg string) (string, bool) {
		d.chip.filter.mask, d.chip.filterSet = hexNumber(arg), true
		return answerOK, true
	}},
	{"AR", none, false, set(func(s *settings) { s.filterSet = false })},
	{"FCSH", []int{3, 8}, false, set1(func(s *settings, arg string) { s.flow.header = hexNumber(arg) })},
	{"FCSD", []int{2, 4, 6, 8, 10}, false, set1(func(s *settings, arg string) { s.flow.data, _ = pairs(arg) })},
	{"FCSM", []int{1}, false, setFlowMode},
}

// wakeCommands concern the K-line and what is beyond this simulation.
var wakeCommands = []command{
	{"KW", none, false, showKeyWords},
	{"FI", none, false, initialise(KWPFast)},
	{"SI", none, false, initialise(ISO9141, KWPSlow)},
	{"IB", []int{2}, false, accept("10", "48", "96")},
	{"SW", []int{2}, false, accept()},
	{"WM", []int{2, 4, 6, 8, 10, 12}, false, accept()},
	{"BI", none, false, func(d *dialogue, _ string) (string, bool) {
		d.chip.open = d.chip.protocol == d.sim.bus
		return answerOK, true
	}},
	{"IIA", []int{2}, false, accept()},
	{"TA", []int{2}, false, accept()},
	{"SR", []int{2}, false, accept()},
	{"CSM", bit, false, flag(func(s *settings) *bool { return &s.silent })},
	{"CEA", []int{0}, false, accept()},
}

// supplyCommands concern the supply, listening in, and the line to the host.
var supplyCommands = []command{
	{"RV", none, false, batteryVoltage},
	{"CV", []int{4}, false, accept()},
	{"IGN", none, false, ignitionState},
	{"LP", none, false, func(d *dialogue, _ string) (string, bool) {
		d.chip.asleep = true
		return answerOK, true
	}},
	{"MA", none, false, monitor},
	{"MR", []int{2}, false, monitor},
	{"MT", []int{2}, false, monitor},
	{"PPS", none, false, func(*dialogue, string) (string, bool) { return "00:FF F  01:FF F  0C:68 F  0E:5A F", true }},
	{"PP", []int{4, 5, 6}, true, func(_ *dialogue, arg string) (string, bool) {
		rest := arg[2:]
		return answerOK, rest == "ON" || rest == "OFF" || strings.HasPrefix(rest, "SV")
	}},
	{"BRD", []int{2}, false, changeBaud},
	{"BRT", []int{2}, false, func(d *dialogue, arg string) (string, bool) {
		d.chip.baudWait = time.Duration(hexNumber(arg)) * 5 * time.Millisecond
		return answerOK, true
	}},
}

// Lengths of arguments.
var (
	none = []int{0}
	bit  = []int{1}
)

// flag makes a command that sets a boolean by 0 or 1.
func flag(which func(*settings) *bool) func(*dialogue, string) (string, bool) {
	return func(d *dialogue, arg string) (string, bool) {
		if arg != "0" && arg != "1" {
			return "", false
		}
		*which(&d.chip.settings) = arg == "1"
		return answerOK, true
	}
}

// set makes a command that changes settings, set1 one that does so by its argument.
func set(change func(*settings)) func(*dialogue, string) (string, bool) {
	return set1(func(s *settings, _ string) { change(s) })
}

func set1(change func(*settings, string)) func(*dialogue, string) (string, bool) {
	return func(d *dialogue, arg string) (string, bool) {
		change(&d.chip.settings, arg)
		return answerOK, true
	}
}

// accept makes a command whose effect this simulation has no use for; with values, only
// those are understood.
func accept(values ...string) func(*dialogue, string) (string, bool) {
	return func(_ *dialogue, arg string) (string, bool) {
		return answerOK, len(values) == 0 || slices.Contains(values, arg)
	}
}

// find looks a command up; the argument is what follows its name.
func find(text string) (c *command, arg string) {
	for i := range commands {
		row := &commands[i]
		rest, ok := strings.CutPrefix(text, row.name)
		if !ok || !slices.Contains(row.lengths, len(rest)) || !row.any && !isHex(rest) {
			continue
		}
		if c == nil || len(row.name) > len(c.name) {
			c, arg = row, rest
		}
	}
	return c, arg
}

// internal runs an AT command and answers.
func (d *dialogue) internal(text string) error {
	c, arg := find(text)
	listed := func(list []string) bool {
		return slices.Contains(list, text) || c != nil && slices.Contains(list, c.name)
	}
	switch p := &d.sim.profile; {
	case c == nil || listed(p.Missing):
		return d.finish("?")
	case listed(p.Pretend):
		return d.finish(answerOK)
	}
	answer, ok := c.do(d, arg)
	switch {
	case !ok:
		return d.finish("?")
	case answer == answerNone && d.broken != nil:
		return d.broken
	case answer == answerNone:
		return d.flush()
	default:
		return d.finish(answer)
	}
}
