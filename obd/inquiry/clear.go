package inquiry

import (
	"errors"
	"fmt"
	"slices"
	"strings"
	"time"

	"github.com/judder-obd/judder/obd"
	"github.com/judder-obd/judder/obd/elm"
	"github.com/judder-obd/judder/obd/reply"
	"github.com/judder-obd/judder/pids/refusal"
)

// Clearing codes is the one thing here that changes the car. It destroys evidence: codes,
// freeze frames, readiness, test results and the counts since the last clearing. It stands
// apart from all that reads, and is sent once, by name and after a typed word.

// ClearWord is what the user types to have codes cleared.
const ClearWord = "CLEAR"

// Reasons not to clear.
var (
	ErrNotConfirmed  = fmt.Errorf("%s was not typed", ClearWord)
	ErrEngineRuns    = errors.New("the engine runs; stop it and switch the ignition on")
	ErrEngineUnknown = errors.New("whether the engine runs could not be read; switch the ignition on, engine off, and try again")
	ErrOneByOne      = errors.New("through this adapter each control unit hears only its own address, so that the request would clear one of them alone; use another adapter")
	ErrNotCleared    = errors.New("the car did not confirm that anything was cleared")
)

// Clear has codes cleared: typed must be ClearWord, and the engine must be read to stand
// still. The request goes out once, whatever comes back; sent reports whether it did. Errors:
// those above, a *ClearError, or the link's.
func (q *Inquiry) Clear(typed string) (sent bool, err error) {
	if typed != ClearWord {
		return false, fmt.Errorf("nothing was cleared: %w", ErrNotConfirmed)
	}
	if err := q.MayClear(); err != nil {
		return false, uncleared(err)
	}
	if err := q.conn.Wait().Longest(); err != nil { // an ECU may ask to wait; it is not asked twice
		return false, uncleared(err)
	}
	request := elm.EraseRequest
	if q.conn.Can().Successor {
		request = elm.EraseRequestSuccessor
	}
	answers, sent, err := q.eraseOnce(request)
	if err != nil && !sent {
		return false, uncleared(err)
	}
	if err != nil {
		return true, fmt.Errorf("the request to clear was sent, and whether the car obeyed could not be read (%w)", err)
	}
	if anyOf(answers, Pending) {
		if answers, err = q.later(answers); err != nil {
			return true, fmt.Errorf("the request to clear was sent, and a control unit asked to wait; whether it obeyed could not be read (%w)", err)
		}
	}
	return true, q.clearedBy(answers)
}

// eraseOnce sends the request that clears, once; sent reports whether it may have gone out.
func (q *Inquiry) eraseOnce(request string) (answers []Answer, sent bool, err error) {
	x, got, sent, err := q.conn.Erase(request, pendingReply)
	if err != nil {
		return nil, sent, err
	}
	answers, _, err = q.answers(&x, got, "")
	return answers, sent, err
}

// uncleared says that the request to clear was not sent, and what to do where the reason does not.
func uncleared(err error) error {
	if errors.Is(err, ErrEngineRuns) || errors.Is(err, ErrEngineUnknown) || errors.Is(err, ErrOneByOne) || errors.Is(err, elm.ErrOver) {
		return fmt.Errorf("nothing was cleared: %w", err)
	}
	return fmt.Errorf("nothing was cleared, the request was not sent: the adapter was lost (%w); look to plug and supply, and clear again", err)
}

// later listens for what ECUs that asked to wait answer after the prompt, which some adapters
// pass on; nothing is asked again (ISO 14229-1: up to 5 s).
func (q *Inquiry) later(answers []Answer) ([]Answer, error) {
	const most = 5 * time.Second
	c := q.conn
	for end := c.Now() + most; anyOf(answers, Pending) && c.Now() < end && !c.Over(); {
		if err := c.Listen(end - c.Now()); err != nil {
			return answers, err
		}
		_, got, err := c.Do("ATI", elm.WaitSetting)
		if err != nil {
			return answers, err
		}
		for _, m := range got.Messages {
			for i := range answers {
				if a := &answers[i]; a.ECU == m.ECU && a.Outcome == Pending {
					*a = answerOf(&m, a.Raw)
				}
			}
		}
	}
	return answers, nil
}

// ClearError reports that not every known ECU confirmed the request to clear.
type ClearError struct {
	Cleared []string // ECUs that confirmed; "" for one that has no name here
	Others  []Answer // what the others made of it: Declined with its code, Pending, or Silent
}

// Error is one line: who cleared and who did not.
func (e *ClearError) Error() string {
	var others []string
	for _, a := range e.Others {
		name := a.ECU
		if name == "" {
			name = "another"
		}
		switch a.Outcome {
		case Declined:
			others = append(others, name+" refused to clear: "+refusal.Text(a.Code))
		case Pending:
			others = append(others, name+" asked to wait and did not confirm")
		default:
			others = append(others, name+" did not confirm it")
		}
	}
	text := strings.Join(others, "; ")
	if len(e.Cleared) == 0 {
		return text
	}
	cleared := strings.Join(e.Cleared, ", ")
	if cleared == "" {
		cleared = "one control unit"
	}
	return cleared + " cleared, but " + text
}

// clearedBy is what ECUs made of the request to clear: nil when all that are known obeyed,
// ErrNotCleared when none answered, else a *ClearError.
func (q *Inquiry) clearedBy(answers []Answer) error {
	var e ClearError
	known := q.conn.Car().Support().ECUs() // as they answer: without names where headers are hidden
	silent := slices.Clone(known)
	for _, a := range answers {
		switch a.Outcome {
		case Answered:
			e.Cleared = append(e.Cleared, a.ECU)
		case Declined, Pending:
			e.Others = append(e.Others, a)
		default:
			continue // silence and damage have no name; where headers are hidden, no ECU has one either
		}
		silent = slices.DeleteFunc(silent, func(id string) bool { return id == a.ECU })
	}
	if len(e.Cleared) == 0 && len(silent) == len(known) {
		return ErrNotCleared
	}
	if q.conn.Car().Several() && len(e.Cleared) == 1 && e.Cleared[0] == "" { // they have no names here
		silent = append(silent, "")
	}
	for _, id := range silent {
		e.Others = append(e.Others, Answer{ECU: id, Outcome: Silent})
	}
	if len(e.Others) == 0 {
		return nil
	}
	return &e
}

// MayClear is nil when the request to clear may be sent: the engine stands, and all ECUs hear one
// request. A car of which one ECU alone is cleared keeps codes that nobody can explain.
func (q *Inquiry) MayClear() error {
	if err := q.EngineOff(); err != nil {
		return err
	}
	if q.all.route != routeEach {
		return nil
	}
	answers, err := q.askFunctional(q.Parameters(0)) // one lost reply looks like it, too
	switch {
	case err != nil:
		return err
	case !heard(answers):
		return ErrOneByOne
	}
	q.all.route = routeFunctional
	return q.EngineOff() // that the engine stands is read last: the link may have been set up again meanwhile
}

// EngineOff is nil when the engine is read to stand still, else ErrEngineRuns or
// ErrEngineUnknown.
func (q *Inquiry) EngineOff() error {
	answers, err := q.AskAll(q.Parameters(obd.EngineSpeed))
	if err != nil {
		return err
	}
	read := map[string]bool{}
	for i := range answers {
		d := reply.ParameterData(answers[i].Data)
		if len(d) < 3 || d[0] != obd.EngineSpeed {
			continue
		}
		if read[answers[i].ECU] = true; d[1] != 0 || d[2] != 0 {
			return ErrEngineRuns
		}
	}
	for _, id := range q.ECUs() {
		if q.Supports(id, obd.EngineSpeed) && !read[id] {
			return ErrEngineUnknown
		}
	}
	if len(read) == 0 {
		return ErrEngineUnknown
	}
	return nil
}

// RanSinceOn is how long the engine has run since it was started, as its ECU counts; 0
// when it was not started since the ignition came on, or when no ECU reports it. An automatic
// stop reads 0 rpm as well as an engine that was switched off. Makers differ in whether the
// count goes on while the engine stands (from memory): it is a hint, not evidence.
func (q *Inquiry) RanSinceOn() (time.Duration, error) {
	const runTime = 0x1F // SAE J1979: seconds, two bytes
	supported := false
	for _, id := range q.ECUs() {
		supported = supported || q.Supports(id, runTime)
	}
	if !supported {
		return 0, nil
	}
	answers, err := q.AskAll(q.Parameters(runTime))
	if err != nil {
		return 0, err
	}
	most := 0
	for i := range answers {
		if d := reply.ParameterData(answers[i].Data); len(d) >= 3 && d[0] == runTime {
			most = max(most, int(d[1])<<8|int(d[2]))
		}
	}
	return time.Duration(most) * time.Second, nil
}
