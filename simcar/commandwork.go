package simcar

import (
	"errors"
	"fmt"
	"time"
)

// resetTime is how long the chip takes over AT Z; a warm start is quicker.
const (
	resetTime = 800 * time.Millisecond
	warmTime  = 60 * time.Millisecond
)

// resetAll is AT Z: all settings and the speed go back, two empty lines, the version.
func (d *dialogue) resetAll(string) (string, bool) {
	d.chip.resetFully()
	return d.restart(resetTime)
}

// resetWarm is AT WS.
func (d *dialogue) resetWarm(string) (string, bool) {
	d.chip.reset()
	return d.restart(warmTime)
}

func (d *dialogue) restart(t time.Duration) (string, bool) {
	d.eol()
	d.eol()
	if d.pause(t) != nil {
		return answerNone, true // the connection has ended; run notices
	}
	return d.sim.profile.Version, true
}

// selectProtocol is AT SP and AT TP: "6", "A6", "0", "00".
func selectProtocol(save bool) func(*dialogue, string) (string, bool) {
	return func(d *dialogue, arg string) (string, bool) {
		automatic := false
		if len(arg) == 2 {
			if arg[0] != 'A' && arg[0] != '0' {
				return "", false
			}
			automatic, arg = arg[0] == 'A' || arg == "00", arg[1:]
		}
		p := hexNumber(arg)
		if p >= uint32(protocolEnd) {
			return "", false
		}
		d.chip.setProtocol(Protocol(p), automatic, save)
		return answerOK, true
	}
}

// describe is AT DP.
func (c *chip) describe() string {
	name := c.protocol.row().name
	if c.automatic && c.protocol != Automatic {
		return "AUTO, " + name
	}
	return name
}

// number is AT DPN.
func (c *chip) number() string {
	if c.automatic {
		return "A" + string(c.protocol.digit())
	}
	return string(c.protocol.digit())
}

// setTimeout is AT ST: units of 4 ms (20 ms after CTM5), 00 for the default.
func setTimeout(d *dialogue, arg string) (string, bool) {
	n := time.Duration(hexNumber(arg))
	d.chip.timeout = n * d.chip.timeoutUnit
	if n == 0 {
		d.chip.timeout = defaultTimeout
	}
	return answerOK, true
}

// setHeader is AT SH: 7E0, DA10F1, 18DA10F1.
func setHeader(d *dialogue, arg string) (string, bool) {
	n := hexNumber(arg)
	if len(arg) == 8 {
		d.chip.priority = byte(n>>24) & 0x1F
	}
	d.chip.header, d.chip.headerSet = n&0xFFFFFF, true
	return answerOK, true
}

// setReceiveAddress is AT CRA: an id in which X stands for any digit; bare, it resets.
func setReceiveAddress(d *dialogue, arg string) (string, bool) {
	if arg == "" {
		d.chip.filterSet = false
		return answerOK, true
	}
	var f idFilter
	for _, c := range arg {
		f.value <<= 4
		f.mask <<= 4
		if c == 'X' {
			continue
		}
		if !isHex(string(c)) {
			return "", false
		}
		f.value |= hexNumber(string(c))
		f.mask |= 0xF
	}
	d.chip.filter, d.chip.filterSet = f, true
	return answerOK, true
}

// setFlowMode is AT FC SM: 1 needs a header and data set before, 2 needs data.
func setFlowMode(d *dialogue, arg string) (string, bool) {
	mode := int(hexNumber(arg))
	switch {
	case mode > 2, mode == 1 && d.chip.flow.header == 0, mode != 0 && len(d.chip.flow.data) == 0:
		return "", false
	}
	d.chip.flow.mode = mode
	return answerOK, true
}

// showKeyWords is AT KW: the key words of the K-line, when it is initialised.
func showKeyWords(d *dialogue, _ string) (string, bool) {
	if row := d.chip.protocol.row(); !d.chip.open || !row.slow() {
		return "", false
	} else if row.kind == bus9141 {
		return "1:08 2:08", true
	}
	return "1:8F 2:E9", true
}

// initialise is AT FI and AT SI.
func initialise(protocols ...Protocol) func(*dialogue, string) (string, bool) {
	return func(d *dialogue, _ string) (string, bool) {
		for _, p := range protocols {
			if d.chip.protocol == p && !d.chip.open {
				d.busy = true
				_, err := d.openFixed()
				d.busy = false
				if errors.Is(err, errStopped) {
					return "STOPPED", true
				}
				return "", true
			}
		}
		return "", false
	}
}

// batteryVoltage is AT RV.
func batteryVoltage(d *dialogue, _ string) (string, bool) {
	return fmt.Sprintf("%.1fV", d.sim.car.At(d.sim.Now()).Volts), true
}

// ignitionState is AT IGN: the level of the chip's ignition pin.
func ignitionState(d *dialogue, _ string) (string, bool) {
	if d.sim.ignition() {
		return "ON", true
	}
	return "OFF", true
}
