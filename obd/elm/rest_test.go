package elm

import (
	"bytes"
	"errors"
	"fmt"
	"slices"
	"strings"
	"testing"
)

// everyLine is every line that may be sent: the adapter's own commands, with every value of what
// varies in the short ones and some in the long; requests of every service that reads; what clears.
func everyLine() (lines []string) {
	for _, pattern := range adapterCommands {
		lines = append(lines, filled("AT"+pattern)...)
	}
	for _, service := range []string{"01", "02", "03", "06", "07", "09", "0A", "19", "22", "3E"} {
		lines = append(lines, service, service+"1", service+"9")
		for b := range 256 {
			item := fmt.Sprintf("%s%02X", service, b)
			lines = append(lines, item, item+"1", item+"00", item+"0D", item+"FFFFFF", item+"04050B0F", item+"0D04050B0F",
				fmt.Sprintf("%s0C%02X", service, b), fmt.Sprintf("%s0C%02X2", service, b))
		}
	}
	for id := range 1 << 16 {
		if lines = append(lines, fmt.Sprintf("22%04X", id)); id%31 == 0 {
			lines = append(lines, fmt.Sprintf("22%04X1", id), fmt.Sprintf("1904%04X16FF", id), fmt.Sprintf("1906%04X16FF", id))
		}
	}
	return append(lines, EraseRequest, EraseRequestSuccessor, MonitorRequest)
}

// filled are the commands of a pattern.
func filled(pattern string) (commands []string) {
	places := strings.Count(pattern, "#")
	if places == 0 {
		return []string{pattern}
	}
	for n := range min(1<<(4*places), 1<<12) {
		digits := fmt.Sprintf("%0*X", places, n)
		if places > 3 { // the end of an address or of a mask varies, and so does its beginning
			digits = (fmt.Sprintf("%03X", 4*n) + "18DA10F1300000")[:places-3] + fmt.Sprintf("%03X", 4*n)
		}
		command := pattern
		for _, d := range digits {
			command = strings.Replace(command, "#", string(d), 1)
		}
		commands = append(commands, command)
	}
	return commands
}

// asksOther reports, by rules of its own, whether what is left of a line asks the car for a service
// that does not only read. Two hex digits at least are a request; spaces are ignored; any other text
// is for the adapter, or "?" (ELM327 data sheet pp. 9 and 30).
func asksOther(rest string) bool {
	rest = strings.ReplaceAll(rest, " ", "")
	if len(rest) < 2 || strings.Trim(rest, hexDigits) != "" {
		return false
	}
	service := strings.IndexByte(hexDigits, rest[0])<<4 | strings.IndexByte(hexDigits, rest[1])
	return !slices.Contains(passing, byte(service))
}

const hexDigits = "0123456789ABCDEF"

// Whatever is lost of the beginning of a line, what is left asks the car for nothing that the gate
// refuses: not in the state in which the line goes out. Only an adapter that was seen to ignore spaces
// is trusted to lose no more than there are; one that has just shown that it is free, to lose none.
func TestGate_EveryRest(t *testing.T) {
	const any = 1 << 10
	lines := everyLine()
	for _, state := range []struct {
		name  string
		guard guard
		loses int // characters, as many as may be
	}{
		{"nothing known", guard{}, any},
		{"may be busy", guard{busy: true}, any},
		{"takes spaces, may be busy", guard{led: true, busy: true}, any},
		{"takes spaces, was at fault", guard{led: true, owed: 1}, any},
		{"takes spaces, was at fault, in a drive", guard{led: true, owed: 1, hurry: true}, any},
		{"loses characters", guard{led: true, quiet: true, loses: true}, any},
		{"takes spaces", guard{led: true}, 12},
		{"takes spaces, in a drive", guard{led: true, hurry: true}, 3},
		{"has shown that it is free", guard{quiet: true}, 0},
	} {
		sent := map[bool]int{}
		for _, command := range lines {
			var out bytes.Buffer
			var err error
			switch {
			case command == MonitorRequest:
				err = monitor(&out, state.guard.lead(command))
			case Permit(command) != nil:
				err = erase(&out, &state.guard, command)
			default:
				err = transmit(&out, &state.guard, command, make([]byte, 0, 40))
			}
			if err != nil {
				if !errors.As(err, new(*RefusedError)) || out.Len() > 0 {
					t.Fatalf("%s: %q, %v", state.name, out.String(), err)
				}
				continue
			}
			line := strings.TrimSuffix(out.String(), "\r")
			sent[isOwn(command)]++
			for k := 1; k <= min(state.loses, len(line)); k++ {
				if rest := line[k:]; asksOther(rest) && strings.TrimLeft(rest, " ") != command {
					t.Errorf("%s: %q may be left of %q", state.name, rest, line)
				}
			}
			for k := 1; k <= 12 && state.guard.led; k++ { // what would do harm is not left even by more
				rest := strings.ReplaceAll(line[min(k, len(line)):], " ", "")
				if clearing := strings.HasPrefix(rest, "04") || strings.HasPrefix(rest, "14"); clearing && rest != command && asksOther(rest) {
					t.Errorf("%s: %q, which clears, may be left of %q", state.name, rest, line)
				}
			}
		}
		trusted := state.loses < any
		if requests := sent[false]; trusted != (requests > 0) || sent[true] == 0 || trusted && sent[true]+requests != len(lines) {
			t.Errorf("%s: %d requests and %d commands of its own of %d went out", state.name, sent[false], sent[true], len(lines))
		}
	}
}

// What frees an adapter asks the car for nothing, whatever is left of it; the commands of a first
// contact and of a way back are of that kind.
func TestGate_SafeWhateverIsLeft(t *testing.T) {
	for _, command := range []string{FreeCommand, NameCommand, "ATZ", "ATWS", "ATD", "ATPC", "ATRV", "ATDPN", "ATDP", "ATH1", "ATS0", "ATM0", "ATTP0"} {
		if !harmless(command) {
			t.Error(command)
		}
	}
	for command, rest := range map[string]string{
		"ATE0": "E0", "ATD0": "D0", "ATCAF1": "CAF1", "ATFE": "FE", "ATBRD11": "11", "ATBRD08": "08", "ATST64": "64", "ATIB10": "10",
		"ATSH7E0": "7E0", "ATCRA7E8": "7E8", "ATFCSD300000": "300000", "ATTPA6": "A6", "0904": "04", "010C0D1": "10C0D1", "010C04": "04",
	} {
		if harmless(command) || !strings.HasSuffix(command, rest) || !asksOther(rest) {
			t.Errorf("%s, of which %s may be left", command, rest)
		}
	}
}
