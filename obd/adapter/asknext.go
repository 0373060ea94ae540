package adapter

import (
	"time"

	"github.com/judder-obd/judder/obd"
	"github.com/judder-obd/judder/obd/elm"
	"github.com/judder-obd/judder/obd/reply"
	"github.com/judder-obd/judder/obd/schedule"
)

// AskNext asks what the schedule says and reports to it what came of it.
func (c *Conn) AskNext(s *schedule.Schedule) (request string, x obd.Exchange, got *reply.Decoded, err error) {
	request = s.Next(c.Now())
	c.term.Hurry(c.can.Baud > 0)
	defer c.term.Hurry(false)
	if x, got, err = c.Do(request, c.ReplyWait()); err != nil {
		return request, x, got, err
	}
	s.Heard(got.Answered())
	s.Answered(request, got.WholeLines())
	return request, x, got, nil
}

// AskSide asks the side requests that are due and has the adapter ask for the schedule again.
// Nothing is asked on the older buses, nor where the adapter cannot show whose reply it is.
func (c *Conn) AskSide(s *schedule.Side) error {
	if !c.can.Form.CAN() {
		return nil
	}
	began := c.Now()
	which := s.Due(began)
	if len(which) == 0 {
		return nil
	}
	if err := c.address.Ask(which[0].Module); err != nil {
		return err
	}
	for _, r := range which {
		_, got, err := c.Do(r.Request(), elm.WaitReply)
		if err != nil {
			return err
		}
		s.Heard(r, got)
		r.Answered(c.Now(), got.Answered(), got.WholeLines() == 1)
	}
	if err := c.address.Home(); err != nil {
		return err
	}
	s.Done(began, c.Now())
	return nil
}

// ReplyWait is how long a reply to a request of the schedule is waited for.
func (c *Conn) ReplyWait() time.Duration {
	if c.can.Slow {
		return elm.WaitReplyBus
	}
	return elm.WaitReply
}
