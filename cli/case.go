package cli

import (
	"cmp"
	"errors"
	"fmt"
	"strconv"
	"strings"
	"time"

	"github.com/judder-obd/judder/casefile"
	"github.com/judder-obd/judder/session/complaint"
)

// caseCommand is one car's folder: what the customer said, what was seen, driven, read, repaired.
type caseCommand struct {
	New    caseNewCommand    `cmd:"" help:"Open a case: a folder for one car. Asks a few one-line questions; all may stay empty."`
	Add    caseAddCommand    `cmd:"" help:"Add recordings, code checks, photos and papers. Originals stay as they are."`
	Look   caseLookCommand   `cmd:"" help:"Write down what is seen at the car: fluid, tyres, mounts, leaks, what was altered."`
	Ask    caseAskCommand    `cmd:"" help:"Write down what is asked of the payer, and the number of the authorisation."`
	Repair caseRepairCommand `cmd:"" help:"Write down a repair that was done."`
	Ladder caseLadderCommand `cmd:"" help:"Print the repair ladder: what is tried first, and what each result means."`
	Show   caseShowCommand   `cmd:"" help:"Print a case, and what it needs next."`
	List   caseListCommand   `cmd:"" help:"List the files of a case, or the cases in a folder."`
}

// openCase opens a case to be written to.
func openCase(dir string) (*casefile.Folder, error) {
	f, err := casefile.Open(dir)
	if err != nil {
		return nil, err
	}
	if f.ReadOnly != nil {
		return nil, errors.Join(f.ReadOnly, f.Close())
	}
	return f, nil
}

// change opens a case, has it changed, and keeps it. Where somebody else writes to it at the same
// moment the change is made again on what is there then. What the change says is said once it is kept.
func (e *env) change(dir string, do func(*casefile.Folder, *kept) error) error {
	const tries, between = 20, 50 * time.Millisecond
	for n := 1; ; n++ {
		err := e.changeOnce(dir, do)
		if n == tries || !errors.Is(err, casefile.ErrMeantime) {
			return err
		}
		e.pause(between)
	}
}

func (e *env) changeOnce(dir string, do func(*casefile.Folder, *kept) error) (err error) {
	f, err := openCase(dir)
	if err != nil {
		return err
	}
	defer func() { err = errors.Join(err, f.Close()) }()
	var k kept
	if err := do(f, &k); err != nil {
		return err
	}
	f.Case.Program = "judder " + version()
	if err := f.Save(); err != nil {
		return err
	}
	for _, line := range k {
		e.say("%s", line)
	}
	return nil
}

// kept are lines to say once a change of a case is kept: before that they may turn out wrong.
type kept []string

func (k *kept) say(format string, args ...any) { *k = append(*k, fmt.Sprintf(format, args...)) }

// today is the time of the command, as a case keeps it.
func (e *env) today() time.Time { return e.started.Truncate(time.Second) }

type caseNewCommand struct {
	Dir      string  `arg:"" placeholder:"DIR" help:"The folder; it is made."`
	Says     string  `placeholder:"WORDS" help:"What the customer feels, in the customer's words."`
	Speed    string  `placeholder:"FROM-TO" help:"At what speed: \"60-70 km/h\". Load, temperature and gear may follow, as in judder drive --complaint."`
	Load     string  `placeholder:"LOAD" help:"With how much throttle: light, medium or heavy."`
	Engine   string  `placeholder:"HOW" help:"With the engine cold or warm."`
	Often    string  `placeholder:"WORDS" help:"How often."`
	Since    string  `placeholder:"WORDS" help:"Since when."`
	Work     string  `placeholder:"WORDS" help:"What was worked on lately."`
	Car      string  `placeholder:"NAME" help:"What you call the car."`
	Odometer float64 `placeholder:"KM" help:"Odometer, km."`
	By       string  `placeholder:"WHO" help:"Who works on the case."`
	Ask      *bool   `negatable:"" help:"Ask the questions that no flag answers. Default: on a terminal."`
}

func (c *caseNewCommand) Run(e *env) (err error) {
	started := casefile.Case{Opened: e.today(), Program: "judder " + version(),
		Complaint: casefile.Complaint{Words: c.Says, Speed: c.Speed, Load: c.Load, Engine: c.Engine, HowOften: c.Often, Since: c.Since, RecentWork: c.Work},
		Car:       casefile.Car{Name: casefile.Line(c.Car), OdometerKM: max(c.Odometer, 0), By: casefile.Line(c.By)}}
	if casefile.IsCase(c.Dir) { // before anybody is asked
		return fmt.Errorf("%s %w", c.Dir, casefile.ErrIsCase)
	}
	if c.Ask == nil && e.typing() || c.Ask != nil && *c.Ask {
		if err := e.intake(&started); err != nil {
			return err
		}
	}
	for _, q := range casefile.Intake {
		answer := q.Answer(&started.Complaint)
		*answer = casefile.Line(*answer)
	}
	f, err := casefile.New(c.Dir, &started)
	if err != nil {
		return err
	}
	defer func() { err = errors.Join(err, f.Close()) }()
	e.say("the case is in %s", f.Dir())
	return e.page(casePage(f))
}

// intake asks what no flag has answered: the complaint, then the car. An empty line goes on; the end of
// the input ends it.
func (e *env) intake(c *casefile.Case) error {
	e.say("one line each, in the customer's words; Enter alone goes on")
	lines := e.lines()
	for _, q := range casefile.Intake {
		if more, err := lines.answer(q, q.Answer(&c.Complaint)); err != nil || !more {
			return err
		}
	}
	if more, err := lines.fill(&c.Car.Name, "What do you call the car?", "blue estate, order 4711"); err != nil || !more {
		return err
	}
	if more, err := lines.odometer(&c.Car.OdometerKM); err != nil || !more {
		return err
	}
	_, err := lines.fill(&c.Car.By, "Who works on the case?", "name of the workshop")
	return err
}

// answer asks a question of the intake. Where drives are compared with its answer, one that judder cannot
// read is asked once more: it may be meant as it is.
func (l *lineAsker) answer(q casefile.Question, text *string) (more bool, err error) {
	given := *text != ""
	more, err = l.fill(text, q.Ask, q.Example)
	if _, unread := complaint.Parse(*text); !q.Driven || given || !more || *text == "" || unread == nil {
		return more, err
	}
	first := *text
	*text = ""
	more, err = l.fill(text, fmt.Sprintf("%q cannot be compared with a drive. Enter keeps it; else write it like this:", first), q.Example)
	*text = cmp.Or(*text, first)
	return more, err
}

// fill asks for a text that is not there yet; more is false at the end of the input.
func (l *lineAsker) fill(text *string, ask, example string) (more bool, err error) {
	if *text != "" {
		return true, nil
	}
	line, ok, err := l.ask(fmt.Sprintf("%s (%s) ", ask, example))
	if err == nil && ok {
		*text = casefile.Line(line)
	}
	return ok, err
}

// odometer asks for the odometer, in km, until it is a number or nothing.
func (l *lineAsker) odometer(km *float64) (more bool, err error) {
	for *km == 0 {
		line, ok, err := l.ask("Odometer, km? (123456) ")
		line = strings.Join(strings.Fields(line), "")
		if err != nil || !ok || line == "" {
			return ok, err
		}
		if n, err := strconv.ParseUint(strings.TrimSuffix(line, "km"), 10, 24); err == nil {
			*km = float64(n)
			return true, nil
		}
	}
	return true, nil
}

type caseShowCommand struct {
	Dir string `arg:"" placeholder:"DIR" help:"A case."`
}

func (c *caseShowCommand) Run(e *env) (err error) {
	f, err := casefile.Open(c.Dir)
	if err != nil {
		return err
	}
	defer func() { err = errors.Join(err, f.Close()) }()
	if f.ReadOnly != nil {
		e.say("%v", f.ReadOnly)
	}
	return e.page(casePage(f))
}
