package elm

import (
	"strings"
	"time"

	"github.com/judder-obd/judder/obd"
	"github.com/judder-obd/judder/obd/reply"
)

// What is kept of one reply at most. An adapter's longest honest reply is a few kilobytes;
// more comes only from a faulty or hostile one and is counted, not stored.
const (
	maxLineBytes  = 2048
	maxReplyLines = 1024
	maxStrayLines = maxReplyLines / 2 // of what came unasked, so that a reply still has room
)

// inbox makes lines of the bytes that came. Only the prompt ends a reply; line ends are taken as
// they come.
type inbox struct {
	pending []byte        // read but not looked at yet
	at      time.Duration // when they were read
	line    []byte        // the line being read
	spilt   bool          // the line was longer than maxLineBytes
	echoed  bool          // the adapter echoed the last command
}

// scan looks at the pending bytes up to a prompt before which something came since the
// command; a prompt with nothing before it (a doubled one, one left over) ends nothing. mine
// reports whether what came can be the answer to this command. Both keep the dialogue in step
// after doubled prompts, late replies and resets.
func (in *inbox) scan(x *obd.Exchange) (prompt, mine bool) {
	for i, c := range in.pending {
		switch c {
		case '\r', '\n':
			in.endLine(x)
		case 0: // the data sheet's family is known to let zero bytes slip in
		case '>':
			in.endLine(x)
			if n := len(x.Lines); n > 0 && x.Lines[n-1].At >= x.Sent {
				in.pending = in.pending[i+1:]
				x.Ending = obd.EndPrompt
				return true, reply.MayAnswer(x)
			}
		default:
			if len(in.line) < maxLineBytes {
				in.line = append(in.line, c)
			} else {
				in.spilt = true
			}
		}
	}
	in.pending = nil
	return false, false
}

func (in *inbox) endLine(x *obd.Exchange) {
	if len(in.line) == 0 || len(x.Lines) >= maxReplyLines {
		in.line, in.spilt = in.line[:0], false
		return
	}
	text := string(in.line)
	if in.spilt {
		text += reply.DataErrorMark // an endless line is a damaged one
	}
	in.line, in.spilt = in.line[:0], false
	if n := len(x.Lines); strings.TrimSpace(text) == x.Request && (n == 0 || x.Lines[n-1].At < x.Sent) { // the echo
		in.echoed = true
		return
	}
	x.Lines = append(x.Lines, obd.Line{At: in.at, Text: text})
}
