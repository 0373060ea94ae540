package cli

import (
	"github.com/judder-obd/judder/obd"
	"github.com/judder-obd/judder/obd/redact"
	"github.com/judder-obd/judder/obd/reply"
	"github.com/judder-obd/judder/session/recording"
)

// keeper writes every exchange to a recording and says how the link comes up.
type keeper struct {
	announcer
	w      *recording.Writer
	vin    bool
	mask   redact.Mask
	kept   int
	failed bool
}

func (k *keeper) Exchange(x obd.Exchange, got *reply.Decoded) {
	if !k.vin { // the recording may be shared; the VIN is personal
		if x = k.mask.Hide(x, got); reply.TellsVIN(x.Request) {
			return
		}
	}
	k.append(recording.OfExchange(x))
	if len(x.Lines) > 0 {
		k.kept++
	}
}

func (k *keeper) Link(c obd.LinkChange) {
	k.announcer.Link(c)
	k.append(recording.OfLink(c))
}

func (k *keeper) append(entry recording.Entry) {
	if k.failed {
		return
	}
	if err := k.w.Append(recording.Truncate(entry)); err != nil {
		k.failed = true
		k.e.say("the raw replies are no longer kept: %v", err)
	}
}
