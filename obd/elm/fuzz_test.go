package elm

import (
	"os"
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/judder-obd/judder/obd"
)

// chunks is a Link that gives bytes in pieces of a size, on a clock of its own that moves
// when there is nothing to read.
type chunks struct {
	data  []byte
	size  int
	clock time.Duration
}

func (c *chunks) Write(p []byte) (int, error) { return len(p), nil }

func (c *chunks) Close() error { return nil }

func (c *chunks) SetReadDeadline(time.Time) error { return nil }

func (c *chunks) SetWriteDeadline(time.Time) error { return nil }

func (c *chunks) Read(p []byte) (int, error) {
	if len(c.data) == 0 {
		c.clock += readSlice
		return 0, os.ErrDeadlineExceeded
	}
	n := copy(p[:min(len(p), c.size)], c.data)
	c.data = c.data[n:]
	return n, nil
}

// Any bytes: the exchange ends in time, its lines are bounded and clean of line ends, prompts
// and zero bytes, and how the bytes were cut in pieces makes no difference.
func FuzzTerminal(f *testing.F) {
	for _, s := range []string{
		rpmLine + "\r\r>", ">" + rpmLine + "\r\n>>", "010C\r" + rpmLine + ">" + speedLine + "\r>", "\x00\x00\r>\r?\r>",
		"SEARCHING...\r" + rpmLine + "\r\r>", speedLine + "\r>" + rpmLine, strings.Repeat("A", 3000) + ">", strings.Repeat("4\r", 1500) + ">", "",
	} {
		f.Add([]byte(s), byte(3))
	}
	f.Add([]byte("0>0>"), byte(3)) // a second reply behind a stray prompt was overlooked when both came in one piece
	f.Fuzz(func(t *testing.T, data []byte, size byte) {
		var first []string
		for _, n := range []int{1 + int(size), 1, 1024} {
			link := &chunks{data: data, size: n}
			term := New(link, Clock{Now: func() time.Duration { return link.clock }, Over: func() bool { return false }})
			term.inStep = true
			for i := range 3 {
				term.guard.quiet = true
				x, err := term.Exchange("010C", time.Second)
				checkBounded(t, term, x)
				if err != nil || x.Ending == obd.EndLost || x.Done < x.Sent || x.Done-x.Sent > time.Second+readSlice {
					t.Fatalf("%q: ending %d after %v, %v", data, x.Ending, x.Done-x.Sent, err)
				}
				if x.Ending == obd.EndPrompt && len(x.Lines) == 0 {
					t.Fatalf("%q: a prompt and nothing before it ended the exchange", data)
				}
				for _, l := range x.Lines {
					if l.Text == "" || strings.ContainsAny(l.Text, "\r\n>\x00") {
						t.Fatalf("line %q", l.Text)
					}
				}
				if got := texts(x); i == 0 && first == nil {
					first = append([]string{}, got...)
				} else if i == 0 && !slices.Equal(got, first) {
					t.Fatalf("pieces of %d: %q, else %q", n, got, first)
				}
			}
		}
	})
}
