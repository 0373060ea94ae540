package cli

import (
	"bufio"
	"errors"
	"fmt"
	"io"
	"os"
	"strings"

	"judder/obd"
	"judder/obd/check"
)

type clearCommand struct {
	carFlags
	Out string `placeholder:"FILE" help:"Where to keep the check made before; never overwrites. Without it a file named by date and time, here."`
}

const clearWarning = `Clearing destroys evidence for good: all stored and pending codes, their freeze frames,
the readiness of every self-test, test results and misfire counts, and the distance since the
last clearing. A car that was cleared may fail an emissions inspection for days, and what a
payer wants to see is gone. It repairs nothing, and permanent codes stay. Ask whoever pays
first; follow the maker's procedure. The engine must stand still, ignition on.`

func (c *clearCommand) Run(e *env) (err error) {
	t, err := c.target(e)
	if err != nil {
		return err
	}
	if c.Out == "" {
		c.Out = e.dated("judder-check-before-clear-", ".json")
	}
	kept, err := check.Reserve(c.Out)
	if err != nil {
		return err
	}
	defer func() { err = errors.Join(err, kept.Close()) }()
	e.say("%s", clearWarning)
	var before, after *check.Report
	_, err = t.run(func(q *obd.Inquiry) (*check.Report, error) {
		if before, err = check.Run(q, t.options); err != nil {
			return before, fmt.Errorf("nothing was cleared, because the check before it failed: %w", err)
		}
		if err := kept.Write(before); err != nil {
			return before, fmt.Errorf("nothing was cleared: %w", err)
		}
		e.say("the check before is kept in %s", c.Out)
		if err := c.confirmed(e, q, before); err != nil {
			return before, err
		}
		e.say("the car confirmed; reading back")
		after, err = check.Run(q, t.options)
		return after, err
	})
	if before != nil && after != nil {
		result := check.Compare(before, after)
		result.Before.File = c.Out
		err = errors.Join(err, e.page(result))
	}
	return err
}

// confirmed says what would be lost, has the word typed, and has the codes cleared.
func (c *clearCommand) confirmed(e *env, q *obd.Inquiry, before *check.Report) error {
	if err := q.EngineOff(); err != nil {
		return err
	}
	for _, line := range before.WouldClear() {
		e.say("%s", line)
	}
	if ran, err := q.RanSinceOn(); err != nil {
		return err
	} else if ran > 0 {
		e.say("the engine computer counts %.0f s since the engine was started: if it stopped by itself at a standstill it can start again by itself; switch the ignition off, then on without starting", ran.Seconds())
	}
	typed, err := e.ask(fmt.Sprintf("Type %s to clear now, anything else to leave everything as it is: ", obd.ClearWord))
	if err != nil {
		return fmt.Errorf("nothing was cleared: %w", err)
	}
	return q.Clear(typed)
}

// stdin is where a typed word comes from; tests put another in its place.
var stdin io.Reader = os.Stdin

// ask prints a question and reads one line. The end of the input is an error: nobody has
// typed anything.
func (e *env) ask(question string) (string, error) {
	_, _ = fmt.Fprint(e.err, question)
	lines := make(chan string, 1)
	go func() {
		s := bufio.NewScanner(stdin)
		if s.Scan() {
			lines <- strings.TrimSpace(s.Text())
		}
		close(lines)
	}()
	select {
	case line, ok := <-lines:
		if !ok {
			return "", errors.New("nothing was typed")
		}
		return line, nil
	case <-e.ctx.Done():
		return "", e.ctx.Err()
	}
}
