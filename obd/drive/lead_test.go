package drive

import (
	"context"
	"io"
	"net"
	"strings"
	"sync"
	"testing"
	"testing/synctest"
	"time"

	"github.com/judder-obd/judder/obd/adapter"
	"github.com/judder-obd/judder/obd/elm"
	"github.com/judder-obd/judder/obd/link"
	"github.com/judder-obd/judder/obd/obdtest"
	"github.com/judder-obd/judder/obd/reply"
)

// eagerAdapter repeats each 20th reply with its prompt a moment later, while it is busy with the
// next request already. What it then hears stops that, and its first characters are lost
// (ELM327 data sheet p. 9 and p. 89: any byte stops it, spaces are ignored; that the byte is lost:
// from memory).
type eagerAdapter struct {
	loses int      // characters
	bus   []string // what was asked of the car
	rpm   int
	again string
}

func (a *eagerAdapter) serve(far net.Conn) {
	heard := make(chan byte, 256)
	var reader sync.WaitGroup
	defer reader.Wait()
	reader.Go(func() {
		defer close(heard)
		for b := make([]byte, 1); ; {
			if _, err := far.Read(b); err != nil {
				return
			}
			heard <- b[0]
		}
	})
	say := func(text string) { _, _ = io.WriteString(far, text) }
	for line := ""; ; {
		c, ok := <-heard
		if !ok {
			return
		}
		if c != '\r' {
			line += string(rune(c))
			continue
		}
		command := strings.ReplaceAll(line, " ", "")
		if line = ""; strings.HasPrefix(command, "AT") {
			say(strings.Join((&obdtest.BadAdapter{Number: "A6"}).Setting(command), "") + "\r\r>")
			continue
		}
		a.bus = append(a.bus, command)
		reply := a.answer(command)
		if a.again != "" {
			time.Sleep(5 * time.Millisecond) // simulated
			say(a.again)
			a.again = ""
		}
		select {
		case <-heard: // something came: that stops it
			for range a.loses - 1 {
				<-heard
			}
			say("STOPPED\r\r>")
			continue
		case <-time.After(30 * time.Millisecond):
		}
		if say(reply); len(a.bus)%20 == 0 {
			a.again = reply
		}
	}
}

func (a *eagerAdapter) answer(command string) string {
	reply := (&obdtest.BadAdapter{RPM: a.rpm}).Engine("7E8", command[:len(command)&^1])
	if a.rpm++; len(command) > 5 { // one parameter a request
		reply = "NO DATA"
	}
	return reply + "\r\r>"
}

// A prompt that was heard does not show that the adapter is free. What is left of a request when
// it swallows the beginning still reads.
// leads is how many spaces lead in every command.
const leads = 3

func TestDrive_SwallowedCharacters(t *testing.T) {
	for loses := 1; loses <= leads; loses++ {
		a, j := &eagerAdapter{loses: loses}, &obdtest.Journal{}
		synctest.Test(t, func(t *testing.T) {
			ctx, cancel := context.WithTimeout(t.Context(), 30*time.Second)
			defer cancel()
			start := time.Now()
			var served sync.WaitGroup
			p := New(adapter.Config{
				Open: func(context.Context, int) (elm.Link, error) {
					near, far := net.Pipe()
					served.Go(func() { a.serve(far) })
					return link.Over(near, "test"), nil
				},
				Bauds: []int{0}, Name: "test", Since: func() time.Duration { return time.Since(start).Truncate(time.Microsecond) },
			})
			if err := p.Run(ctx, j); err != nil {
				t.Error(err)
			}
			served.Wait()
		})
		stopped := 0
		for i := range j.Exchanges {
			if reply.Says(&j.Exchanges[i], "STOPPED") {
				stopped++
			}
		}
		for _, request := range a.bus {
			if err := elm.Permit(request); err != nil {
				t.Errorf("%d characters lost: %v", loses, err)
			}
		}
		if len(a.bus) < 300 || stopped < 5 {
			t.Errorf("%d characters lost: %d requests, stopped %d times", loses, len(a.bus), stopped)
		}
	}
}
