package cli

import (
	"os"
	"slices"
	"strings"
	"time"

	"github.com/judder-obd/judder/check"
	"github.com/judder-obd/judder/check/read"
	"github.com/judder-obd/judder/obd"
	"github.com/judder-obd/judder/obd/inquiry"
	"github.com/judder-obd/judder/session"
	"github.com/judder-obd/judder/session/recording"
)

// carFlags say how to reach a car and its control units.
type carFlags struct {
	portFlags
	Module  []string `placeholder:"ADDRESS" help:"Another module, by its request address: 760 (11-bit CAN) or 28 (29-bit CAN). May be repeated."`
	Profile string   `placeholder:"FILE" help:"Vehicle profile (TOML); its modules are read too. Default: the one used last; none for none."`
	VIN     bool     `help:"Show and keep the full vehicle identification number."`
	Raw     string   `placeholder:"FILE" help:"Where to keep the raw replies; never overwrites. Default: a file here, named by date and time."`
}

// checkTarget is a car to be asked.
type checkTarget struct {
	e       *env
	flags   *carFlags
	options read.Options
}

// target reads what the flags say of the car.
func (f *carFlags) target(e *env, out string) (*checkTarget, error) {
	if err := f.choose(e); err != nil {
		return nil, err
	}
	t := &checkTarget{e: e, flags: f}
	t.options = read.Options{Program: "judder " + version(), VIN: f.VIN, Now: e.started, Names: map[string]string{}, Progress: e.progress()}
	for _, text := range f.Module {
		if digits, ok := strings.CutPrefix(strings.ToUpper(strings.TrimSpace(text)), "0X"); ok {
			text = digits // hexadecimal, as addresses always are here
		}
		m, err := read.ParseModule(text)
		if err != nil {
			return nil, usageError(err.Error())
		}
		if slices.ContainsFunc(t.options.Modules, func(o obd.Module) bool { return o.Request == m.Request }) {
			continue // named twice
		}
		m.Name = text
		t.options.Modules = append(t.options.Modules, m)
	}
	profile, _, err := loadProfile(e.profile(f.Profile))
	if err != nil {
		return nil, err
	}
	t.options.AddProfile(profile)
	if f.Raw != "" && f.Raw == out {
		return nil, usageError("--raw and --out name the same file; give two")
	}
	if f.Raw == "" {
		f.Raw = e.dated("judder-check-", ".jsonl")
	}
	return t, nil
}

// sweep looks for further modules, and adds those that answer.
func (t *checkTarget) sweep(q *inquiry.Inquiry) error {
	found, err := read.Sweep(q, t.known(q), t.e.pause, func(address string, of, done int) {
		if done%25 == 0 {
			t.e.say("sweep: %d of %d addresses asked", done, of)
		}
	})
	t.options.Modules = append(t.options.Modules, found...)
	t.options.Swept = err == nil
	return err
}

// progress says each step once, and every few seconds how far a long one is.
func (e *env) progress() func(doing check.Item, done, of int) {
	const every = 5 * time.Second
	said := time.Time{}
	return func(doing check.Item, done, of int) {
		switch now := time.Now(); {
		case of == 0:
			said = now
			e.say("reading %s", doing.Words())
		case now.Sub(said) >= every:
			said = now
			e.say("reading %s: %d %%", doing.Words(), 100*done/of)
		}
	}
}

// known are the reply addresses that need no sweep.
func (t *checkTarget) known(q *inquiry.Inquiry) []string {
	ids := q.ECUs()
	for _, m := range t.options.Modules {
		ids = append(ids, m.Request, m.Reply)
	}
	return ids
}

// run opens the port, has ask ask, and keeps every raw reply. The report may be partial when
// there is an error.
func (t *checkTarget) run(ask func(*inquiry.Inquiry) (*check.Report, error)) (*check.Report, error) {
	header := recording.Header{Start: t.e.started, Port: t.flags.Port, Program: "judder " + version()}
	w, err := recording.Create(t.flags.Raw, session.ForCheck(header))
	if err != nil {
		return nil, err
	}
	sink := &keeper{announcer: announcer{e: t.e}, w: w, vin: t.flags.VIN}
	var r *check.Report
	err = inquire(t.e, t.flags.Port, t.flags.Baud, sink, func(q *inquiry.Inquiry) (err error) {
		r, err = ask(q)
		return err
	})
	if closing := w.Close(recording.WhyUser); err == nil {
		err = closing
	}
	if sink.kept == 0 {
		_ = os.Remove(t.flags.Raw) // it holds nothing but attempts
	} else {
		t.e.say("raw replies in %s", t.flags.Raw)
	}
	return r, err
}

// pause waits, or less when the command is interrupted.
func (e *env) pause(d time.Duration) {
	timer := time.NewTimer(d)
	defer timer.Stop()
	select {
	case <-timer.C:
	case <-e.ctx.Done():
	}
}
