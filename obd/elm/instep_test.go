package elm

import (
	"bufio"
	"io"
	"net"
	"strings"
	"sync"
	"testing"
	"testing/synctest"
	"time"

	"github.com/judder-obd/judder/obd"
	"github.com/judder-obd/judder/obd/reply"
)

// A late reply with a prompt of its own, bundled as every request of a drive on CAN is: it
// is a reading of its own request, the next request still gets its own reply, and the
// dialogue stays in step. Made-up dialogue; layouts after ISO 15765-4.
func TestTerminal_LateBundledReplyKeepsInStep(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		replies := map[string]string{
			"010C04": "7E806410C184C0455AA", "010C05": "7E806410C18500582AA", "010C0D": "7E806410C18540D46AA",
		}
		near, far := net.Pipe()
		began := time.Now()
		term := New(near, Clock{Now: func() time.Duration { return time.Since(began) }, Over: func() bool { return false }})
		var adapter sync.WaitGroup
		adapter.Go(func() { // reads at once, as a cable with a buffer lets it
			commands, late := bufio.NewReader(far), time.Duration(0)
			for {
				command, err := commands.ReadString('\r')
				if err != nil {
					return
				}
				reply := replies[strings.TrimSuffix(command, "\r")] + "\r\r>"
				first, after := reply, 20*time.Millisecond+late
				if late = 0; command == "010C05\r" {
					first, after, late = "NO DATA\r\r>", 20*time.Millisecond, 50*time.Millisecond
					adapter.Go(func() {
						time.Sleep(50 * time.Millisecond) // simulated
						_, _ = io.WriteString(far, reply)
					})
				}
				adapter.Go(func() {
					time.Sleep(after) // simulated
					_, _ = io.WriteString(far, first)
				})
			}
		})
		defer adapter.Wait()
		defer func() { _, _ = near.Close(), far.Close() }()
		var d reply.Decoder
		var got []string
		for _, request := range []string{"010C04", "010C05", "010C0D", "010C04", "010C0D"} {
			term.guard.quiet = true
			x, err := term.Exchange(request, time.Second)
			if err != nil {
				t.Fatal(err)
			}
			x.Form = obd.FormCAN11
			own := false
			for _, m := range d.Decode(&x).Messages {
				got = append(got, string("0123456789ABCDEF"[m.Data[4]&15])) // the companion
				own = own || !m.Late
			}
			if request != "010C05" && !own {
				t.Errorf("%s: its own reply is not among %q", request, texts(x))
			}
		}
		if want := "4 5 D 4 D"; strings.Join(got, " ") != want {
			t.Errorf("replies in order of arrival: %s, want %s", strings.Join(got, " "), want)
		}
	})
}
