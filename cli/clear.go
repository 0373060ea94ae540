package cli

import (
	"bufio"
	"errors"
	"fmt"
	"io"
	"path/filepath"
	"strings"
	"time"

	"github.com/judder-obd/judder/obd/elm"
	"github.com/judder-obd/judder/obd/inquiry"

	"github.com/judder-obd/judder/check"
	"github.com/judder-obd/judder/check/losses"
	"github.com/judder-obd/judder/check/page"
	"github.com/judder-obd/judder/check/read"
	"github.com/judder-obd/judder/prose"
)

type clearCommand struct {
	carFlags
	caseFlags
	Out string `placeholder:"FILE" help:"Where to keep the code check made before; never overwrites. Default: a file here, named by date and time."`
}

// What the names of the checks around a clearing begin with.
const (
	beforeClear = "judder-check-before-clear-"
	afterClear  = "judder-check-after-clear-"
)

const clearWarning = `Clearing destroys evidence for good: all stored and pending
codes, their freeze frames, the readiness of every self-test, test results and
misfire counts, and the distance since the last clearing. The car may then fail
an emissions inspection for days, and the evidence that whoever pays may want is
gone. Clearing repairs nothing, and permanent codes stay. Ask whoever pays first.
Follow the maker's procedure. Ignition on, engine stopped.`

func (c *clearCommand) Run(e *env) (err error) {
	j, err := c.join(e)
	if err != nil {
		return err
	}
	if err := c.place(e, j); err != nil {
		return err
	}
	t, err := c.target(e, c.Out)
	if err != nil {
		return err
	}
	x := &clearing{e: e, t: t, path: c.Out}
	if j != nil {
		t.options.Digest = j.digest
		defer func() { err = errors.Join(err, j.take(c.Raw, c.Out, x.afterPath())) }() // once the files are closed
	}
	if x.before, err = check.Reserve(c.Out); err != nil {
		return err
	}
	defer func() { err = errors.Join(err, x.before.Close()) }()
	e.say("%s", strings.ReplaceAll(clearWarning, "\n", " "))
	if _, err = t.run(x.do); err != nil && !x.asked {
		err = fmt.Errorf("nothing was cleared: %w", err)
	}
	if x.after != nil {
		err = errors.Join(err, x.report())
	}
	return err
}

// place settles the files of a clearing: in the case that it joins, else here.
func (c *clearCommand) place(e *env, j *joined) (err error) {
	switch {
	case j == nil && c.Out == "":
		c.Out = e.dated(beforeClear, ".json")
	case j != nil && c.Out == "":
		c.Out, err = j.place("checks", beforeClear, ".json")
	}
	if err == nil && j != nil && c.Raw == "" {
		c.Raw, err = j.place("checks", "judder-check-", ".jsonl")
	}
	return err
}

// clearing is one clearing under way.
type clearing struct {
	e      *env
	t      *checkTarget
	path   string // of the check before
	before *check.Kept
	asked  bool // a word was typed; from here on Clear says what became of it
	first  *check.Report
	after  *check.Report
}

// do checks, has the word typed, has the codes cleared, and reads back.
func (x *clearing) do(q *inquiry.Inquiry) (r *check.Report, err error) {
	if x.first, err = read.Run(q, x.t.options); err != nil {
		return x.first, fmt.Errorf("the code check before it failed: %w", err)
	}
	if err := x.before.Write(x.first); err != nil {
		return x.first, err
	}
	x.e.say("the code check before clearing is kept in %s", x.path)
	typed, err := x.confirm(q)
	if err != nil {
		return x.first, err
	}
	x.asked = true
	sent, err := q.Clear(typed)
	if !sent || errors.Is(err, elm.ErrOver) {
		return x.first, err
	}
	became := "the car confirmed that it cleared"
	if err != nil {
		became = err.Error()
	}
	x.e.say("%s; reading back", became)
	options := x.t.options
	options.Now = time.Now()
	after, unread := read.Run(q, options)
	if x.after = after; unread != nil {
		return after, fmt.Errorf("%s; not everything could be read back; run judder check again (%w)", became, unread)
	}
	return after, err
}

// confirm says what would be lost and has the word typed.
func (x *clearing) confirm(q *inquiry.Inquiry) (typed string, err error) {
	if err := q.MayClear(); err != nil {
		return "", err
	}
	lost := losses.Of(x.first)
	for _, line := range page.Losses(lost) {
		x.e.say("%s", line)
	}
	if !losses.Whole(lost) {
		x.e.say("part of what would be destroyed could not be read and is NOT kept; if anybody may want it, read it first with another adapter or the maker's tool")
	}
	if ran, err := q.RanSinceOn(); err != nil {
		return "", err
	} else if ran > 0 {
		x.e.say("the engine control unit counts %s since the engine was started. If stop-start stopped it, it can start again by itself. Switch the ignition off, then on without starting", prose.Duration(ran))
	}
	x.e.say("clearing cannot be undone and repairs nothing; ask whoever pays first")
	return x.e.ask(fmt.Sprintf("Type %s to clear now; anything else changes nothing: ", inquiry.ClearWord))
}

// afterPath is where the check after the clearing is kept.
func (x *clearing) afterPath() string {
	if dir, name := filepath.Split(x.path); strings.HasPrefix(name, beforeClear) {
		return filepath.Join(dir, afterClear+strings.TrimPrefix(name, beforeClear))
	}
	return strings.TrimSuffix(x.path, filepath.Ext(x.path)) + "-after.json"
}

// report keeps the check after and prints what changed.
func (x *clearing) report() error {
	path := x.afterPath()
	err := saveAfter(path, x.first, x.after)
	if err == nil {
		x.e.say("the code check after clearing is kept in %s", path)
	}
	result := compareChecks(x.first, x.after, true)
	result.Before.File, result.After.File = x.path, path
	return errors.Join(err, x.e.page(func(w io.Writer) error { return page.WriteComparison(w, result) }))
}

// ask prints a question and reads one line. The end of the input is an error: nobody has
// typed anything.
func (e *env) ask(question string) (string, error) {
	_, _ = fmt.Fprint(e.err, question)
	lines := make(chan string, 1)
	go func() {
		s := bufio.NewScanner(e.in)
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
		_, _ = fmt.Fprintln(e.err) // the terminal shows the key on the question's line
		return "", elm.ErrOver
	}
}
