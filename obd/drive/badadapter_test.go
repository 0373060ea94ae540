package drive

import (
	"context"
	"fmt"
	"io"
	"net"
	"strings"
	"sync"
	"testing"
	"testing/synctest"
	"time"

	"judder/obd"
	"judder/obd/link"
	"judder/obd/reply"
	"judder/pids"
)

// badAdapter is an adapter of few words, written apart from the simulated car: faults that a
// review found with adapters of its own stand here. rpm counts up, so that order shows.
type badAdapter struct {
	header  string // as AT SH set it
	filter  string
	asked   int // requests to the car
	rpm     int
	patient bool // AT AT0 and a long AT ST
	resets  int

	car       func(b *badAdapter, request string) (lines []string, prompt bool)
	number    string                                 // AT DPN
	strike    func(command string) (lines []string)  // what happens in place of an answer; nil or none: nothing
	rawStrike func(line string) (lines []string)     // strike with the line as it came, spaces and all
	bare      bool                                   // no headers, whatever is set
	gone      bool                                   // hangs up in place of its next answer
	later     func(after time.Duration, line string) // puts out a line unasked; set by serve
}

// setting answers an AT command.
func (b *badAdapter) setting(command string) []string {
	switch {
	case command == "ATZ" || command == "ATWS" || command == "ATI":
		if command != "ATI" {
			b.header, b.filter, b.patient = "7DF", "", false
			b.bare = b.bare && b.strike == nil
			b.resets++
		}
		return []string{"ELM327 v1.5"}
	case command == "ATDPN":
		return []string{b.number}
	case strings.HasPrefix(command, "ATSH"):
		b.header = command[4:]
	case strings.HasPrefix(command, "ATCRA"):
		b.filter = command[5:]
	case command == "ATAT0":
		b.patient = true
	case command == "ATAT1":
		b.patient = false
	}
	return []string{"OK"}
}

// serve answers until the pipe closes: 8 ms a command, a second more a request while patient.
func (b *badAdapter) serve(far net.Conn) {
	var late sync.WaitGroup
	defer late.Wait()
	b.later = func(after time.Duration, line string) {
		late.Go(func() {
			time.Sleep(after) // simulated
			_, _ = io.WriteString(far, line+"\r")
		})
	}
	buf, line := make([]byte, 64), ""
	for {
		n, err := far.Read(buf)
		if err != nil {
			return
		}
		for _, c := range buf[:n] {
			if c != '\r' {
				line += string(rune(c))
				continue
			}
			raw, command := line, strings.TrimSpace(line)
			line = ""
			time.Sleep(8 * time.Millisecond)
			lines, prompt := []string(nil), true
			if b.strike != nil {
				lines = b.strike(command)
			}
			if b.rawStrike != nil {
				lines = b.rawStrike(raw)
			}
			switch {
			case b.gone:
				_ = far.Close() // a pipe has no errors to tell
				return
			case lines != nil:
			case strings.HasPrefix(command, "AT"):
				lines = b.setting(command)
			default:
				b.asked++
				if lines, prompt = b.car(b, command[:len(command)&^1]); b.patient {
					time.Sleep(time.Second)
				}
			}
			text := strings.Join(lines, "\r") + "\r"
			if prompt {
				text += "\r>"
			}
			if _, err := far.Write([]byte(text)); err != nil {
				return
			}
		}
	}
}

// engine answers as one ECU with engine speed, road speed and throttle would.
func (b *badAdapter) engine(head, request string) string {
	data := "41"
	for i := 2; i < len(request); i += 2 {
		switch pid := request[i : i+2]; pid {
		case "00":
			data += "0000188000"
		case "0C":
			b.rpm++
			data += fmt.Sprintf("0C%04X", 4000+b.rpm%4000)
		case "0D", "11":
			data += pid + "32"
		}
	}
	if data == "41" {
		return "NO DATA"
	}
	if b.bare {
		return data
	}
	return fmt.Sprintf("%s%02X%s", head, len(data)/2, data)
}

// onBad gives the test a poller on an adapter, under simulated time.
func onBad(t *testing.T, b *badAdapter, test func(t *testing.T, p *Poller)) {
	t.Helper()
	if b.number == "" {
		b.number = "A6"
	}
	synctest.Test(t, func(t *testing.T) {
		start := time.Now()
		var served sync.WaitGroup
		defer served.Wait()
		test(t, NewPoller(Config{
			Open: func(context.Context, int) (Link, error) {
				near, far := net.Pipe()
				served.Go(func() { b.serve(far) })
				return link.Over(near, "test"), nil
			},
			Bauds: []int{0}, Name: "test", Since: func() time.Duration { return time.Since(start).Truncate(time.Microsecond) },
		}))
	})
}

// rideBad is a session of length d on an adapter.
func rideBad(t *testing.T, d time.Duration, b *badAdapter) *journal {
	t.Helper()
	j := &journal{}
	onBad(t, b, func(t *testing.T, p *Poller) {
		ctx, cancel := context.WithTimeout(t.Context(), d)
		defer cancel()
		if err := p.Run(ctx, j); err != nil {
			t.Error(err)
		}
	})
	return j
}

func told(j *journal, words string) bool {
	for _, l := range j.links {
		if strings.Contains(l.Text, words) {
			return true
		}
	}
	return false
}

// An adapter that answers for itself and hangs on every request to the car is set up again.
func TestPoller_RequestsHang(t *testing.T) {
	b := &badAdapter{}
	b.car = func(b *badAdapter, request string) ([]string, bool) {
		if b.asked > 200 && b.resets < 2 {
			return nil, false
		}
		return []string{b.engine("7E8", request)}, true
	}
	j := rideBad(t, 40*time.Second, b)
	if r := j.rate(pids.RPM, "", 30*time.Second, 39*time.Second); r < 30 || !told(j, "hang") {
		t.Errorf("%.1f readings a second after it hung; told %q", r, toldAfter(j, 0))
	}
}

// One "wait" slows the adapter down for some replies, not for the rest of the drive.
func TestPoller_WaitIsForgotten(t *testing.T) {
	b := &badAdapter{}
	b.car = func(b *badAdapter, request string) ([]string, bool) {
		if b.asked == 200 {
			return []string{"7E8037F0178"}, true
		}
		return []string{b.engine("7E8", request)}, true
	}
	j := rideBad(t, 30*time.Second, b)
	if r := j.rate(pids.RPM, "", 20*time.Second, 29*time.Second); r < 30 || b.asked < 200 {
		t.Errorf("%.1f readings a second after one wait", r)
	}
}

// An adapter that cannot ask the car at all is set up again about once a second, and the
// user is told what it says.
func TestPoller_ErrorForEver(t *testing.T) {
	b := &badAdapter{car: func(*badAdapter, string) ([]string, bool) { return []string{"ERR71"}, true }}
	j := rideBad(t, 30*time.Second, b)
	if b.resets > 30 || !told(j, "ERR") {
		t.Errorf("%d resets in half a minute; told %q", b.resets, toldAfter(j, 0))
	}
}

// A first reply whose sum is also its CRC is of either older bus; the adapter's protocol
// number says of which (SAE J1850: one reply in 256).
func TestPoller_CheckByteOfBoth(t *testing.T) {
	same := func() (data []byte) { // a support map whose two check bytes agree
		for low := range 1 << 16 {
			data = []byte{0x48, 0x6B, 0x10, 0x41, 0x00, 0x00, 0x18, byte(0x80 | low>>8), byte(low)}
			if reply.KLineSum(data) == reply.J1850CRC(data) {
				return data
			}
		}
		return nil
	}()
	b := &badAdapter{number: "A2"}
	b.car = func(b *badAdapter, request string) ([]string, bool) {
		frame := append([]byte(nil), same...)
		if request != "0100" {
			text := b.engine("", request)
			if text == "NO DATA" || len(request) > 4 {
				return []string{"NO DATA"}, true
			}
			frame = append(frame[:3:3], unhexAll(t, text[2:])...)
		}
		return []string{fmt.Sprintf("%X", append(frame, reply.J1850CRC(frame)))}, true
	}
	if same == nil {
		t.Fatal("no such map")
	}
	j := rideBad(t, 20*time.Second, b)
	if r := j.rate(pids.RPM, "10", 10*time.Second, 19*time.Second); r < 10 {
		t.Errorf("%.1f readings a second; told %q", r, toldAfter(j, 0))
	}
}

// Two ECUs behind an adapter without headers: the engine's is asked alone where that can be
// proved, so that readings of two are not mixed; where it cannot, the user is told.
func TestPoller_TwoWithoutNames(t *testing.T) {
	for _, obeys := range []bool{true, false} {
		b := &badAdapter{bare: true}
		b.car = func(b *badAdapter, request string) ([]string, bool) {
			lines := []string{b.engine("", request)}
			if b.header != "7E0" || !obeys {
				switch request {
				case "0100":
					lines = append(lines, "41000010000000"[:12])
				case "010C", "010C0D", "010C11":
					lines = append(lines, "410CFFFF") // of the other one: 16384 rpm
				}
			}
			return lines, true
		}
		j := rideBad(t, 20*time.Second, b)
		foreign := 0
		for _, s := range j.samples {
			if s.Signal == pids.RPM && s.At > 5*time.Second && s.Value > 10000 {
				foreign++
			}
		}
		if r := j.rate(pids.TP, "", 10*time.Second, 19*time.Second); obeys && r < 3 {
			t.Errorf("throttle is read %.1f times a second", r)
		}
		if obeys && (foreign > 0 || !told(j, "7E0 is asked alone")) || !obeys && !told(j, "SEVERAL COMPUTERS") {
			t.Errorf("obeys %v: %d readings of the other computer; told %q", obeys, foreign, toldAfter(j, 0))
		}
	}
}

// A parameter that a car claims and never answers is left out after some tries; in an outage
// nothing is.
func TestPoller_ClaimedNotAnswered(t *testing.T) {
	b := &badAdapter{}
	b.car = func(b *badAdapter, request string) ([]string, bool) {
		if strings.Contains(request, "11") {
			time.Sleep(200 * time.Millisecond)
			return []string{"NO DATA"}, true
		}
		return []string{b.engine("7E8", request)}, true
	}
	j := rideBad(t, 30*time.Second, b)
	if r := j.rate(pids.RPM, "", 10*time.Second, 29*time.Second); r < 50 {
		t.Errorf("%.1f readings a second beside a parameter that is never answered", r)
	}
	b = &badAdapter{}
	b.car = func(b *badAdapter, request string) ([]string, bool) {
		if b.asked > 300 && b.asked < 340 {
			time.Sleep(200 * time.Millisecond)
			return []string{"NO DATA"}, true
		}
		return []string{b.engine("7E8", request)}, true
	}
	j = rideBad(t, 40*time.Second, b)
	if r := j.rate(pids.TP, "", 30*time.Second, 39*time.Second); r < 5 {
		t.Errorf("throttle %.1f times a second after an outage", r)
	}
}

// An adapter that forgets whom to ask is found out by who answers.
func TestPoller_ForgetsWhomToAsk(t *testing.T) {
	b := &badAdapter{}
	b.car = func(b *badAdapter, request string) ([]string, bool) {
		if b.asked == 300 {
			b.header, b.filter = "7DF", ""
			return []string{"CAN ERROR"}, true
		}
		if b.header == "7DF" && request != "0100" && b.asked > 300 && b.asked < 400 {
			return []string{b.engine("7E9", request)}, true // faster, and the count is one
		}
		return []string{b.engine("7E8", request)}, true
	}
	j := rideBad(t, 30*time.Second, b)
	if gap := longestGapOf(j, "7E8", 3*time.Second, 29*time.Second); gap > 3*time.Second || !told(j, "others answer for 7E8") {
		t.Errorf("%v without the engine computer; told %q", gap, toldAfter(j, 0))
	}
}

func longestGapOf(j *journal, ecu string, from, to time.Duration) time.Duration {
	var own []pids.Sample
	for _, s := range j.samples {
		if s.ECU == ecu {
			own = append(own, s)
		}
	}
	return longestGap(own, from, to)
}

// What is left over in front of an echo does not make the echo the adapter's name.
func TestVersionText(t *testing.T) {
	for want, lines := range map[string][]string{
		"ELM327 v1.5": {"ATI", "ELM327 v1.5"}, "ELM327 v2.1": {"?", "ELM327 v2.1"}, "": {"ATI"},
	} {
		x := obd.Exchange{Request: "ATI"}
		for _, l := range lines {
			x.Lines = append(x.Lines, obd.Line{Text: l})
		}
		if got := versionText(&x); got != want {
			t.Errorf("%q: %q, want %q", lines, got, want)
		}
	}
}

// An adapter that may still be busy takes the first character of what comes for "stop": the
// rest of 010C0D1 would be 10 C0 D1, a request for another session (ISO 14229-1). So what is
// sent first is for the adapter itself.
func TestPoller_NothingLeftOfARequest(t *testing.T) {
	for _, lines := range [][]string{nil, {"7E8037F0178"}, {"7E806410C1AF80D32"}} {
		b := &badAdapter{}
		b.car = func(b *badAdapter, request string) ([]string, bool) {
			if b.asked%50 == 0 {
				return lines, false
			}
			return []string{b.engine("7E8", request)}, true
		}
		j := rideBad(t, 30*time.Second, b)
		hung := 0
		for i := range len(j.exchanges) - 1 {
			x := &j.exchanges[i]
			if x.Ending != obd.EndSilence || strings.HasPrefix(x.Request, "AT") {
				continue
			}
			hung++
			if next := j.exchanges[i+1].Request; !strings.HasPrefix(next, "AT") {
				t.Errorf("%q: %s was sent to an adapter that may be busy", lines, next)
			}
		}
		if hung < 5 {
			t.Errorf("%q: no prompt %d times", lines, hung)
		}
	}
}

// A supply that dips is told as that, also where the same reply holds a reading without its
// header.
func TestPoller_ResetIsNamed(t *testing.T) {
	b := &badAdapter{}
	b.car = func(b *badAdapter, request string) ([]string, bool) {
		if b.asked == 200 {
			b.bare = true
			return []string{"LV RESET", b.engine("", request)}, true
		}
		if b.resets > 1 {
			b.bare = false
		}
		return []string{b.engine("7E8", request)}, true
	}
	j := rideBad(t, 30*time.Second, b)
	if !told(j, "LV RESET") || told(j, "without a word") || j.rate(pids.RPM, "7E8", 20*time.Second, 29*time.Second) < 30 {
		t.Errorf("told %q", toldAfter(j, 5*time.Second))
	}
}

// An address in the network that is silent is not looked for among the serial ports.
func TestSilentError_Address(t *testing.T) {
	for _, heard := range []bool{false, true} {
		text := (&SilentError{Port: "tcp://10.0.0.1:35000", Bauds: []int{0}, Heard: heard}).Error()
		if strings.Contains(text, "judder ports") || strings.Contains(text, "--baud") || !strings.Contains(text, "tcp://10.0.0.1:35000") || !strings.Contains(text, "check") {
			t.Errorf("heard %v: %s", heard, text)
		}
	}
	serial := &SilentError{Port: "/dev/ttyUSB0", Bauds: []int{38400}}
	if !strings.Contains(serial.Error(), "judder ports") || !strings.Contains(serial.Error(), "38400") {
		t.Errorf("a serial port: %s", serial)
	}
}

// An adapter that is slow to say that it was stopped, and slower to say "?" to the rest of what
// stopped it, is asked nothing of the car until it has said OK.
func TestPoller_NothingLeftOfARequestWhereStoppingIsSlow(t *testing.T) {
	waiting := false // for the car
	executed := []string{}
	b := &badAdapter{}
	b.strike = func(command string) []string {
		if !waiting {
			return nil
		}
		waiting = false
		executed = append(executed, command[1:])
		b.later(120*time.Millisecond, "?\r>")
		return []string{"STOPPED"}
	}
	b.car = func(b *badAdapter, request string) ([]string, bool) {
		if b.asked%50 == 0 {
			waiting = true
			return nil, false
		}
		return []string{b.engine("7E8", request)}, true
	}
	j := rideBad(t, 30*time.Second, b)
	for _, rest := range executed {
		if rest[0] != 'T' {
			t.Errorf("the adapter was left with %s", rest)
		}
	}
	if len(executed) < 5 || j.rate(pids.RPM, "", 10*time.Second, 29*time.Second) < 15 {
		t.Errorf("%d requests hung; %.1f readings a second", len(executed), j.rate(pids.RPM, "", 10*time.Second, 29*time.Second))
	}
}
