package obdtest

import (
	"context"
	"fmt"
	"io"
	"net"
	"slices"
	"strings"
	"sync"
	"time"

	"github.com/judder-obd/judder/obd"
	"github.com/judder-obd/judder/obd/elm"
	"github.com/judder-obd/judder/obd/link"
)

// Slip is what an Eager does wrong at a request.
type Slip uint8

// The slips.
const (
	NoSlip Slip = iota
	Early       // its prompt comes while it is still busy
	Twice       // its reply comes a second time, with its prompt, while it is busy with that
)

// Eager is an adapter whose prompt does not show that it is free. What it hears while it is busy
// stops it, and its first characters are lost (ELM327 data sheet p. 9 and p. 89: any byte stops it,
// spaces are ignored, a bare carriage return repeats the last command; that bytes are lost: from
// memory).
type Eager struct {
	Loses   int                // characters, where it is stopped
	Mute    bool               // it does not write STOPPED
	Spaces  bool               // it ignores spaces
	Slips   func(nth int) Slip // at the n-th request to the car
	Bus     []string           // what was asked of the car
	Stopped int                // times that it was stopped

	usual  Slip
	always bool
	engine BadAdapter
	last   string
	busy   time.Time
}

// Eagers are adapters that lose 1 to so many characters, in every way, and honest ones.
func Eagers(most int) (list []*Eager) {
	for _, spaces := range []bool{true, false} {
		list = append(list, newEager(NoSlip, true, spaces, false, 1))
		for _, slip := range []Slip{Early, Twice} {
			for i := range 4 * most {
				list = append(list, newEager(slip, i%2 == 0, spaces, i%4 >= 2, 1+i/4))
			}
		}
	}
	return list
}

func newEager(slip Slip, always, spaces, mute bool, loses int) *Eager {
	e := &Eager{Loses: loses, Spaces: spaces, Mute: mute, usual: slip, always: always}
	e.Slips = func(nth int) Slip {
		if always || nth%7 == 3 {
			return slip
		}
		return NoSlip
	}
	return e
}

func (e *Eager) String() string {
	words := []string{map[Slip]string{NoSlip: "honest", Early: "early", Twice: "twice"}[e.usual], fmt.Sprintf("loses %d", e.Loses)}
	for word, is := range map[string]bool{"always": e.always, "ignores spaces": e.Spaces, "mute": e.Mute} {
		if is {
			words = append(words, word)
		}
	}
	slices.Sort(words)
	return strings.Join(words, ", ")
}

// eagerBusy is how long it is busy after a prompt that came early.
const eagerBusy = 60 * time.Millisecond

// Open opens a pipe to the adapter; served ends when it has hung up.
func (e *Eager) Open(served *sync.WaitGroup) func(context.Context, int) (elm.Link, error) {
	e.engine.Number = "A6"
	return func(context.Context, int) (elm.Link, error) {
		near, far := net.Pipe()
		heard := make(chan byte, 256)
		served.Go(func() {
			defer close(heard)
			for b := make([]byte, 1); ; heard <- b[0] {
				if _, err := far.Read(b); err != nil {
					return
				}
			}
		})
		served.Go(func() { e.serve(far, heard) })
		return anySpeed{link.Over(near, "test")}, nil
	}
}

// anySpeed is a pipe that takes any serial speed.
type anySpeed struct{ elm.Link }

func (anySpeed) SetBaud(int) error { return nil }

func (e *Eager) serve(far io.Writer, heard <-chan byte) {
	say := func(text string) { _, _ = io.WriteString(far, text) } // a pipe has no errors to report
	var again <-chan time.Time
	line, reply := "", ""
	for {
		select {
		case <-again:
			again = nil
			say(reply)
		case c, ok := <-heard:
			switch {
			case !ok:
				return
			case time.Now().Before(e.busy):
				again, e.busy, line = nil, time.Time{}, ""
				for range e.Loses - 1 {
					<-heard
				}
				if e.Stopped++; !e.Mute {
					say("STOPPED\r\r>")
				}
			case c != '\r':
				line += string(rune(c))
			default:
				var slip Slip
				reply, slip = e.take(line)
				line = ""
				if slip != NoSlip {
					e.busy = time.Now().Add(eagerBusy)
				}
				if say(reply); slip == Twice {
					again = time.After(eagerBusy / 2)
				}
			}
		}
	}
}

// take answers a line.
func (e *Eager) take(line string) (reply string, slip Slip) {
	if e.Spaces {
		line = strings.ReplaceAll(line, " ", "")
	}
	if line == "" {
		line = e.last
	}
	e.last = line
	time.Sleep(5 * time.Millisecond) // simulated
	switch {
	case strings.HasPrefix(line, "ATBRD"):
		return "?\r\r>", NoSlip
	case strings.HasPrefix(line, "AT"):
		return strings.Join(e.engine.Setting(line), "\r") + "\r\r>", NoSlip
	case len(line) < 2 || !obd.AllHex(line):
		return "?\r\r>", NoSlip
	}
	e.Bus = append(e.Bus, line)
	time.Sleep(10 * time.Millisecond) // simulated
	if line[:2] != "01" {
		return "7E8037F" + line[:2] + "11\r\r>", e.Slips(len(e.Bus)) // not supported (ISO 14229-1)
	}
	return e.engine.Engine("7E8", line[:len(line)&^1]) + "\r\r>", e.Slips(len(e.Bus))
}

// Forbidden are the requests on its bus that the gate refuses.
func (e *Eager) Forbidden() (list []string) {
	for _, request := range e.Bus {
		if elm.Permit(request) != nil {
			list = append(list, request)
		}
	}
	return list
}
