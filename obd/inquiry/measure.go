package inquiry

import (
	"slices"
	"time"

	"github.com/judder-obd/judder/obd"
	"github.com/judder-obd/judder/obd/adapter"
	"github.com/judder-obd/judder/obd/reply"
	"github.com/judder-obd/judder/obd/schedule"
)

// Readings a second are counted for so long, once the schedule has learnt its replies.
const (
	measureAfter = 3 * time.Second
	measureFor   = 5 * time.Second
)

// measure polls as a drive does, side requests included, and times it.
func measure(c *adapter.Conn, out *Examination) error {
	can := c.Can()
	can.Count = c.Car().Counts()
	s, side := schedule.New(can, c.Car().Wanted()), schedule.NewSide(c.Profile(), can, c.Car().Support())
	var took []time.Duration
	var last string
	begun, readings, renewed := c.Now()+measureAfter, 0, 0
	for c.Now()-begun < measureFor {
		if err := c.AskSide(side); err != nil {
			return err
		}
		request, x, got, err := c.AskNext(s)
		if err != nil {
			return err
		}
		if !got.Answered() || x.Sent < begun {
			continue
		}
		took = append(took, x.Done-x.Sent)
		r := reply.ParseRequest(request)
		if !r.Has(obd.EngineSpeed) {
			continue
		}
		readings++
		if v := engineBytes(got); v != last && v != standing {
			if last != "" { // the first was not seen to change
				renewed++
			}
			last = v
		}
	}
	if len(took) == 0 {
		return nil
	}
	slices.Sort(took)
	seconds := (c.Now() - begun).Seconds()
	out.Exchange, out.PerSecond, out.Renewed = took[len(took)/2], float64(readings)/seconds, float64(renewed)/seconds
	return nil
}

// standing are the bytes of an engine speed of zero.
const standing = "\x00\x00"

// engineBytes are the two bytes of engine speed in a reply that begins with it; standing
// where there is none.
func engineBytes(got *reply.Decoded) string {
	for i := range got.Messages {
		if d := reply.ParameterData(got.Messages[i].Data); len(d) >= 3 && d[0] == obd.EngineSpeed {
			return string(d[1:3])
		}
	}
	return standing
}
