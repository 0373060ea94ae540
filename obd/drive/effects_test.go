package drive

import (
	"context"
	"io"
	"net"
	"slices"
	"strings"
	"testing"
	"testing/synctest"
	"time"

	"github.com/judder-obd/judder/obd"
	"github.com/judder-obd/judder/obd/adapter"
	"github.com/judder-obd/judder/obd/elm"
	"github.com/judder-obd/judder/obd/obdtest"
	"github.com/judder-obd/judder/obd/reply"
)

// command is what an adapter heard, and when.
type command struct {
	at   time.Duration
	text string
}

func (c command) polls() bool { return strings.HasPrefix(c.text, "010C") }

// plainAdapter answers every command as an adapter on CAN does whose car has one ECU with
// engine speed and road speed.
func plainAdapter(text string) string {
	switch {
	case text == "ATZ" || text == "ATI":
		return "ELM327 v1.5"
	case text == "ATDPN":
		return "6"
	case strings.HasPrefix(text, "AT"):
		return "OK"
	case strings.HasPrefix(text, "0100"):
		return "7E806410000180000"
	case strings.HasPrefix(text, "010C0D"):
		return obdtest.BundleLine
	}
	return "NO DATA"
}

// serveText answers commands by a function until the link ends.
func serveText(conn net.Conn, answer func(text string) string) {
	var line []byte
	for b := make([]byte, 1); ; {
		if _, err := conn.Read(b); err != nil {
			return
		}
		if b[0] != '\r' {
			line = append(line, b[0])
			continue
		}
		time.Sleep(10 * time.Millisecond) // simulated
		if _, err := io.WriteString(conn, answer(strings.TrimSpace(string(line)))+"\r\r>"); err != nil {
			return
		}
		line = line[:0]
	}
}

// pollWith runs a poller under simulated time; the 20th to the last-th request while polling
// is answered with a line of its own. after is what the adapter heard from the first of these.
func pollWith(t *testing.T, line string, most int, d time.Duration) (j *obdtest.Journal, after []command) {
	t.Helper()
	j = &obdtest.Journal{}
	synctest.Test(t, func(t *testing.T) {
		ctx, cancel := context.WithTimeout(t.Context(), d)
		defer cancel()
		start := time.Now()
		polls, struck := 0, 0
		answer := func(text string) string {
			c := command{time.Since(start), text}
			if c.polls() {
				polls++
			}
			if c.polls() && polls >= 20 && struck < most {
				struck++
				after = append(after, c)
				return line
			}
			if struck > 0 {
				after = append(after, c)
			}
			return plainAdapter(text)
		}
		done := make(chan struct{})
		p := New(adapter.Config{
			Open: func(context.Context, int) (elm.Link, error) {
				near, far := net.Pipe()
				go func() { serveText(far, answer); close(done) }()
				return near, nil
			},
			Bauds: []int{0}, Name: "test", Since: func() time.Duration { return time.Since(start) },
		})
		if err := p.Run(ctx, j); err != nil {
			t.Error(err)
		}
		<-done
	})
	return j, after
}

// setUpAt is where in a list of commands the set-up begins; -1 when it does not.
func setUpAt(heard []command) int {
	return slices.IndexFunc(heard, func(c command) bool { return c.text == "ATZ" })
}

// What the poller does about each action. struck is how many requests are answered with the
// text, one after the other.
var effects = map[reply.Action]struct {
	struck int
	wrong  func(heard []command) string
}{
	reply.ActNothing: {1, goesOn},
	reply.ActDrop:    {1, goesOn},
	reply.ActAgain: {1, func(heard []command) string {
		if gap := heard[1].at - heard[0].at; gap < 50*time.Millisecond {
			return "asks again at once"
		}
		return goesOn(heard)
	}},
	reply.ActCount: {1 << 30, func(heard []command) string {
		at := setUpAt(heard)
		if at < unansweredMost || heard[at].at-heard[0].at < carGoneAfter {
			return "gives the car up too early, or never"
		}
		if heard[at-1].text != "ATPC" {
			return "does not close the protocol"
		}
		return ""
	}},
	reply.ActRefused: {1 << 30, func(heard []command) string {
		at := setUpAt(heard)
		if at < unansweredMost || heard[at].at-heard[0].at < carGoneAfter {
			return "sets up too early, or never"
		}
		if heard[at-1].text == "ATPC" {
			return "blames the car"
		}
		return ""
	}},
	reply.ActReopen: {2, func(heard []command) string {
		if at := setUpAt(heard); at != 3 || heard[2].text != "ATPC" {
			return "does not close the protocol and look for the car again"
		}
		return ""
	}},
	reply.ActSetUp: {1, func(heard []command) string {
		if setUpAt(heard) != 1 {
			return "does not set the adapter up at once"
		}
		return ""
	}},
}

// goesOn is what is wrong where the next request is all that is called for.
func goesOn(heard []command) string {
	if len(heard) < 30 {
		return "stops asking"
	}
	for i, c := range heard[:30] {
		if !c.polls() && (i%2 != 1 || c.text != "ATL0") { // a free adapter says OK, a busy one stops at it
			return "sends " + c.text
		}
	}
	if heard[1].at-heard[0].at > 600*time.Millisecond {
		return "hesitates"
	}
	return ""
}

func TestStatus_EveryTextHasItsEffect(t *testing.T) {
	for i := range reply.Statuses {
		s := &reply.Statuses[i]
		t.Run(s.Text, func(t *testing.T) {
			effect := effects[s.Action]
			j, heard := pollWith(t, obdtest.LineWith(s), effect.struck, 6*time.Second)
			if len(heard) < 2 {
				t.Fatal("the polling never got there")
			}
			if wrong := effect.wrong(heard); wrong != "" {
				t.Errorf("%s: %v", wrong, heard[:min(len(heard), 12)])
			}
			hit := slices.IndexFunc(j.Exchanges, func(x obd.Exchange) bool {
				return len(x.Lines) > 0 && x.Lines[0].Text == obdtest.LineWith(s) && x.Sent > 0 && strings.HasPrefix(x.Request, "010C")
			})
			if hit < 0 {
				t.Fatal("the text is not in the record")
			}
			read := 0
			for _, r := range j.Samples {
				if r.At > j.Exchanges[hit].Sent && r.At <= j.Exchanges[hit].Done {
					read++
				}
			}
			if want := map[bool]int{true: 2}[s.Action == reply.ActNothing && s.Place == reply.Prefix]; read != want {
				t.Errorf("%d readings taken from it, want %d", read, want)
			}
			if effect.struck < 3 && (len(j.Samples) == 0 || j.Samples[len(j.Samples)-1].At < 5*time.Second) {
				t.Error("no readings at the end")
			}
		})
	}
}

// A setting that is refused is tried once more, and never again in this life of the link,
// however often the adapter is set up.
func TestStatus_RefusedSetting(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		ctx, cancel := context.WithTimeout(t.Context(), 10*time.Second)
		defer cancel()
		var heard []command
		start, polls := time.Now(), 0
		answer := func(text string) string {
			heard = append(heard, command{time.Since(start), text})
			if text == "ATAT1" {
				return "?"
			}
			if heard[len(heard)-1].polls() {
				if polls++; polls%50 == 0 {
					return "LV RESET"
				}
			}
			return plainAdapter(text)
		}
		near, far := net.Pipe()
		done := make(chan struct{})
		go func() { serveText(far, answer); close(done) }()
		p := New(adapter.Config{Open: func(context.Context, int) (elm.Link, error) { return near, nil }, Bauds: []int{0},
			Since: func() time.Duration { return time.Since(start) }})
		var j obdtest.Journal
		if err := p.Run(ctx, &j); err != nil {
			t.Error(err)
		}
		<-done
		times := map[string]int{}
		for _, c := range heard {
			times[c.text]++
		}
		if times["ATZ"] < 3 || times["ATE0"] < 3 || times["ATAT1"] > 2*times["ATZ"] {
			t.Errorf("ATZ %d times, ATE0 %d, the refused ATAT1 %d; want 2 for each ATZ of that", times["ATZ"], times["ATE0"], times["ATAT1"])
		}
		if len(j.Samples) < 100 {
			t.Errorf("%d readings", len(j.Samples))
		}
	})
}
