package redact

import (
	"fmt"
	"math/rand/v2"
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/judder-obd/judder/obd"
	"github.com/judder-obd/judder/obd/reply"
)

// vinLayout is a way in which a reply with a number is shown.
type vinLayout struct {
	name    string
	form    obd.Form
	request string
	lines   func(payload []byte) []string
}

// Layouts by ISO 15765-2, ISO 9141-2, SAE J1850 and the ELM327 data sheet (p. 42: numbered lines,
// long replies without headers).
var vinLayouts = []vinLayout{
	{"CAN 11", obd.FormCAN11, "0902", canLines("7E8", -1)},
	{"CAN 11, padded 00", obd.FormCAN11, "22F802", canLines("7E9", 0x00)},
	{"CAN 11, padded 55", obd.FormCAN11, "22F190", canLines("768", 0x55)},
	{"CAN 29", obd.FormCAN29, "0902", canLines("18 DA F1 10", -1)},
	{"CAN 29, padded AA", obd.FormCAN29, "22F190", canLines("18 DA F1 28", 0xAA)},
	{"headers off", obd.FormBare, "0902", bareLines},
	{"headers off, F802", obd.FormBare, "22F802", bareLines},
	{"K line", obd.FormKLine, "0902", olderLines("48 6B 10", reply.KLineSum)},
	{"J1850", obd.FormJ1850, "0902", olderLines("48 6B 10", reply.J1850CRC)},
	{"K line, headers off", obd.FormBare, "0902", olderLines("", nil)},
}

func canLines(head string, pad int) func([]byte) []string {
	return func(p []byte) (lines []string) {
		frames := [][]byte{append([]byte{byte(len(p))}, p[:min(len(p), 7)]...)}
		if len(p) > 7 {
			frames[0] = append([]byte{0x10, byte(len(p))}, p[:6]...)
			for i, rest := 1, p[6:]; len(rest) > 0; i++ {
				n := min(len(rest), 7)
				frames = append(frames, append([]byte{0x20 | byte(i&15)}, rest[:n]...))
				rest = rest[n:]
			}
		}
		for _, f := range frames {
			for pad >= 0 && len(f) < 8 {
				f = append(f, byte(pad))
			}
			lines = append(lines, fmt.Sprintf("%s % X", head, f))
		}
		return lines
	}
}

func bareLines(p []byte) []string {
	if len(p) <= 7 {
		return []string{fmt.Sprintf("% X", p)}
	}
	lines := []string{fmt.Sprintf("%03X", len(p)), fmt.Sprintf("0: % X", p[:6])}
	for i, rest := 1, p[6:]; len(rest) > 0; i++ {
		n := min(len(rest), 7)
		lines = append(lines, fmt.Sprintf("%X: % X", i&15, rest[:n]))
		rest = rest[n:]
	}
	return lines
}

// olderLines are those of the older buses: what service 09 reports in numbered rows of four bytes,
// with zeros in front.
func olderLines(head string, sum func([]byte) byte) func([]byte) []string {
	return func(p []byte) (lines []string) {
		messages := [][]byte{p}
		if p[0] == 0x49 {
			data := append(make([]byte, (4-(len(p)-3)%4)%4), p[3:]...)
			messages = nil
			for i := 0; i < len(data); i += 4 {
				messages = append(messages, append([]byte{0x49, p[1], byte(i/4 + 1)}, data[i:i+4]...))
			}
		}
		for _, m := range messages {
			line := fmt.Sprintf("% X", m)
			if sum != nil {
				b := append([]byte{0x48, 0x6B, 0x10}, m...)
				line = fmt.Sprintf("%s % X %02X", head, m, sum(b))
			}
			lines = append(lines, line)
		}
		return lines
	}
}

// vinNeighbours are other replies around that of the number: what they hold is ours.
var vinNeighbours = []struct {
	request string
	payload string
}{
	{"0904", "\x49\x04\x01SIMCAR-ENG-XYZ\x00\x00"},
	{"090A", "\x49\x0A\x01ECM\x00-EngineControl\x00\x00"},
	{"010C0D", "\x41\x0C\x1A\xF8\x0D\x33"},
	{"010C", "\x41\x0C\x41\x42"},
	{"03", "\x43\x02\x31\x32\x33\x34"},
	{"1902FF", "\x59\x02\xFF\x31\x32\x33\x34\x41\x42\x43\x44"},
	{"ATRV", "12.6V"}, // of the adapter itself
}

// vinDamages are what happens to line i of some; a byte of chance says where and to what.
var vinDamages = []struct {
	name string
	do   func(lines []string, i int, where, what byte) []string
}{
	{"none", func(lines []string, _ int, _, _ byte) []string { return lines }},
	{"1 changed", func(lines []string, i int, where, what byte) []string {
		const to = "0123456789ABCDEF?x "
		b := []byte(lines[i])
		b[int(where)%len(b)] = to[int(what)%len(to)]
		lines[i] = string(b)
		return lines
	}},
	{"2 lost", func(lines []string, i int, where, what byte) []string {
		for _, at := range []byte{where, where + what%3} { // mostly neighbours
			if n := len(lines[i]); n > 1 {
				lines[i] = lines[i][:int(at)%n] + lines[i][int(at)%n+1:]
			}
		}
		return lines
	}},
	{"split", func(lines []string, i int, where, _ byte) []string {
		at := int(where) % len(lines[i])
		return slices.Insert(slices.Replace(lines, i, i+1, lines[i][:at]), i+1, lines[i][at:])
	}},
	{"run together", func(lines []string, i int, _, _ byte) []string {
		if i+1 == len(lines) {
			return lines
		}
		return slices.Replace(lines, i, i+2, lines[i]+lines[i+1])
	}},
}

const vinLength = 17

// vinCase is one damaged reply: the number is asked for, and the reply's lines from late on come
// in the exchange behind, in front of what that asked for.
type vinCase struct {
	layout, neighbour, damage, line, where, what, late byte
	known, tight                                       bool
	seed                                               uint64
}

func (c *vinCase) of() *vinLayout { return &vinLayouts[int(c.layout)%len(vinLayouts)] }

// number is a number whose end shows nowhere else in it.
func (c *vinCase) number() string {
	const letters, digits = "ABCDEFGHJKLMNPRSTUVWXYZ0123456789", "0123456789"
	r := rand.New(rand.NewPCG(c.seed, 1))
	for {
		b := []byte("0TE")
		for len(b) < shown {
			b = append(b, letters[r.IntN(len(letters))])
		}
		for len(b) < vinLength-4 && c.seed%2 == 0 { // only the last four must be digits (49 CFR 565, from memory)
			b = append(b, letters[r.IntN(len(letters))])
		}
		for len(b) < vinLength {
			b = append(b, digits[r.IntN(len(digits))])
		}
		if vin := string(b); vinSurvives(vin, fmt.Sprintf("%X", vin[:shown])) < 3 && vinSurvives(vin, "313233343041424344") < 3 {
			return vin
		}
	}
}

// took reports whether the last lines of the latest exchange are those of whole replies: without a
// header, the decoder gives up some that are whole.
func (m *masking) took(lines []string) bool {
	taken := map[int]bool{}
	for _, r := range m.decoded.Messages {
		for _, p := range r.Parts {
			taken[m.decoded.Lines-1-p.Line] = true
		}
	}
	for i := range lines {
		if !taken[i] {
			return false
		}
	}
	return true
}

// vinSurvives is the longest piece of a number's end that hex digits show, at either alignment.
func vinSurvives(vin, text string) (longest int) {
	text = strings.ToUpper(strings.ReplaceAll(text, " ", ""))
	end := vin[shown:]
	for from := range end {
		for to := from + 1; to <= len(end); to++ {
			if to-from > longest && strings.Contains(text, fmt.Sprintf("%X", end[from:to])) {
				longest = to - from
			}
		}
	}
	return longest
}

// run gives how much of the number's end survives, and what changed in the other reply although
// it was not damaged.
func (c *vinCase) run(t *testing.T) (survives int, kept []string, changed string) {
	l, vin := c.of(), c.number()
	n := vinNeighbours[int(c.neighbour)%len(vinNeighbours)]
	ask, _, _ := strings.Cut(l.request, " ")
	head := map[string]string{"0902": "\x49\x02\x01", "22F190": "\x62\xF1\x90", "22F802": "\x62\xF8\x02"}[ask]
	reply, others := l.lines([]byte(head+vin)), []string{n.payload}
	if !strings.HasPrefix(n.request, "AT") {
		others = l.lines([]byte(n.payload))
	}
	clean := slices.Clone(reply)
	i := int(c.line) % len(reply)
	cut := int(c.late) % (len(reply) + 1)
	if c.tight {
		for k := range others {
			others[k] = strings.ReplaceAll(others[k], " ", "")
		}
		for k := range reply {
			reply[k] = strings.ReplaceAll(reply[k], " ", "")
		}
	}
	damage := vinDamages[int(c.damage)%len(vinDamages)].do
	first, second := slices.Clone(reply[:cut]), slices.Clone(reply[cut:])
	whole := others
	if i < cut {
		first = damage(first, i, c.where, c.what)
	} else {
		all := damage(append(second, others...), i-cut, c.where, c.what)
		if d := len(all) - len(second) - len(others); d < 0 && i == len(reply)-1 {
			whole = nil // the other reply was damaged as well
		}
		second = all
	}
	if i < cut {
		second = append(second, others...)
	}
	var m masking
	at := time.Duration(0)
	if c.known {
		m.hide(exchangeOf(at, l.form, l.request, clean...))
		at = 20 * time.Second
	}
	for _, x := range []obd.Exchange{exchangeOf(at, l.form, l.request, first...), exchangeOf(at+time.Second, l.form, n.request, second...)} {
		got := m.hide(x)
		for k := range got {
			if len(got[k]) != len(x.Lines[k].Text) {
				t.Errorf("%q became %q", x.Lines[k].Text, got[k])
			}
		}
		kept = append(kept, got...)
	}
	if end := kept[len(kept)-len(whole):]; (strings.HasPrefix(n.request, "AT") || m.took(whole)) && !slices.Equal(end, whole) {
		changed = fmt.Sprintf("%q became %q", whole, end)
	}
	return vinSurvives(vin, strings.Join(kept, "")), kept, changed
}

// A number's end does not show behind any one damage, and undamaged replies beside it stay.
func TestMask_DamagedReplies(t *testing.T) {
	const most, tries = 3, 400
	r := rand.New(rand.NewPCG(1, 2))
	for layout := range vinLayouts {
		for damage := range vinDamages {
			bad, spoilt, said := 0, 0, false
			for range tries {
				c := vinCase{layout: byte(layout), neighbour: byte(r.Uint32()), damage: byte(damage), line: byte(r.Uint32()), where: byte(r.Uint32()),
					what: byte(r.Uint32()), late: byte(r.Uint32()), known: r.IntN(2) == 0, tight: r.IntN(4) == 0, seed: r.Uint64()}
				n, shown, changed := c.run(t)
				if n > most {
					bad++
				}
				if changed != "" {
					spoilt++
				}
				if (n > most || changed != "") && !said {
					said = true
					t.Errorf("%+v: of %s %d characters in %q; %s", c, c.number(), n, shown, changed)
				}
			}
			if bad+spoilt > 0 {
				t.Errorf("%s, %s: in %.1f %% the number shows, in %.1f %% another reply changed", vinLayouts[layout].name, vinDamages[damage].name,
					100*float64(bad)/tries, 100*float64(spoilt)/tries)
			}
		}
	}
}

// The same, for whatever the fuzzer thinks of.
func FuzzMask(f *testing.F) {
	for layout := range vinLayouts {
		for damage := range vinDamages {
			f.Add(byte(layout), byte(layout+damage), byte(damage), byte(2), byte(9), byte(3), byte(damage), damage%2 == 0, layout%2 == 0, uint64(7))
		}
	}
	// Found by fuzzing: a line and a header that one digit made a reply to 03.
	f.Add(byte(59), byte('4'), byte(11), byte('1'), byte(1), byte(3), byte(2), true, true, uint64(55))
	f.Add(byte(8), byte(10), byte('V'), byte(19), byte(1), byte(3), byte(2), true, true, uint64(7))
	f.Fuzz(func(t *testing.T, layout, neighbour, damage, line, where, what, late byte, known, tight bool, seed uint64) {
		c := vinCase{layout, neighbour, damage, line, where, what, late, known, tight, seed}
		if n, shown, changed := c.run(t); n > 3 || changed != "" {
			t.Errorf("of %s %d characters in %q; %s", c.number(), n, shown, changed)
		}
	})
}
