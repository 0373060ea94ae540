package cli

import (
	"fmt"
	"io"
	"slices"
	"strings"
	"time"

	"github.com/judder-obd/judder/casefile"
)

type caseLookCommand struct {
	Dir   string   `arg:"" placeholder:"DIR" help:"A case."`
	Kind  string   `arg:"" placeholder:"WHAT" help:"What is looked at: fluid-level, fluid-colour, fluid-smell, fluid-debris, tyres, mounts, leak, altered, missing, left-and-right-differ, other."`
	Place string   `placeholder:"WHERE" help:"Where at the car."`
	Note  string   `placeholder:"WORDS" help:"What is there, as it is seen; not who did it."`
	Photo []string `placeholder:"FILE" help:"A photo of it; it is added to the case. May be repeated."`
	At    float64  `name:"at-c" placeholder:"C" help:"Fluid temperature at the look, °C."`
	From  float64  `name:"from-c" placeholder:"C" help:"The maker's window, from, °C. judder knows no maker's figure."`
	To    float64  `name:"to-c" placeholder:"C" help:"The maker's window, to, °C."`
	Page  string   `placeholder:"WORDS" help:"Where the window is printed."`
}

func (c *caseLookCommand) Run(e *env) error {
	kind := casefile.LookKind(strings.ReplaceAll(strings.ToLower(c.Kind), "-", " "))
	if !slices.ContainsFunc(casefile.LookKinds, func(r casefile.LookRow) bool { return r.Kind == kind }) {
		return usageError(fmt.Sprintf("%q is nothing that is looked at; judder case look --help lists what is", c.Kind))
	}
	look := casefile.Look{At: e.today(), Kind: kind, Place: casefile.Line(c.Place), Note: casefile.Line(c.Note)}
	if c.At != 0 || c.From != 0 || c.To != 0 || c.Page != "" {
		if kind != casefile.FluidLevel {
			return usageError("--at-c, --from-c, --to-c and --page belong to fluid-level")
		}
		if c.From > c.To {
			return usageError("--from-c is above --to-c; give the window as the maker's page prints it")
		}
		look.Fluid = &casefile.Fluid{AtC: c.At, FromC: c.From, ToC: c.To, Page: casefile.Line(c.Page)}
	}
	if kind.Risky() {
		for _, caution := range casefile.LookCautions {
			e.say("%s", caution)
		}
	}
	return e.change(c.Dir, func(f *casefile.Folder, k *kept) error {
		a := adding{e: e, f: f, kept: k, how: casefile.Adding{Now: e.today(), Label: string(kind)}}
		for _, path := range c.Photo {
			row, _, err := f.Add(path, a.how)
			if err != nil {
				return err
			}
			if row.Kind != casefile.Photo {
				return fmt.Errorf("%s is no photo; judder case add takes other files", path)
			}
			look.Photos = append(look.Photos, row.Name)
			a.photos++
		}
		f.Case.Looks = append(f.Case.Looks, look)
		k.say("%s", lookWords(&look))
		a.conclude()
		return nil
	})
}

type caseAskCommand struct {
	Dir      string `arg:"" placeholder:"DIR" help:"A case."`
	For      string `placeholder:"WORDS" help:"What is to be authorised."`
	Estimate string `placeholder:"WORDS" help:"Parts and labour, with the currency."`
	Contract string `placeholder:"NUMBER" help:"The payer's number of the contract."`
	Number   string `placeholder:"NUMBER" help:"The number of the authorisation, as it was given."`
}

func (c *caseAskCommand) Run(e *env) error {
	if c.For+c.Estimate+c.Contract+c.Number == "" {
		return usageError("give --for, --estimate, --contract or --number")
	}
	return e.change(c.Dir, func(f *casefile.Folder, k *kept) error {
		r := &f.Case.Request
		set := func(to *string, text string) {
			if text != "" {
				*to = casefile.Line(text)
			}
		}
		set(&r.Authorise, c.For)
		set(&r.Estimate, c.Estimate)
		set(&r.Contract, c.Contract)
		set(&r.Number, c.Number)
		if c.Number != "" {
			r.Given = e.today()
		}
		k.say("written down in %s: %s", f.Dir(), requestWords(r))
		return nil
	})
}

type caseRepairCommand struct {
	Dir      string  `arg:"" placeholder:"DIR" help:"A case."`
	Rung     string  `arg:"" placeholder:"RUNG" help:"fluid, adaptation, valve-body, converter, unit or other; judder case ladder explains them."`
	Parts    string  `placeholder:"WORDS" help:"Parts, with numbers and amounts."`
	Note     string  `placeholder:"WORDS" help:"What was done and found."`
	Odometer float64 `placeholder:"KM" help:"Odometer, km."`
	Date     string  `placeholder:"YYYY-MM-DD" help:"When it was done. Default: now."`
}

func (c *caseRepairCommand) Run(e *env) error {
	rung := casefile.RungID(strings.ReplaceAll(strings.ToLower(c.Rung), "-", " "))
	row := rung.Row()
	if row == nil {
		return usageError(fmt.Sprintf("%q is no rung; judder case ladder lists them", c.Rung))
	}
	done := e.today()
	if c.Date != "" {
		day, err := time.ParseInLocation("2006-01-02", c.Date, done.Location())
		if err != nil || day.After(done) {
			return usageError("--date: give a day that has come, such as 2026-11-29")
		}
		done = day
	}
	return e.change(c.Dir, func(f *casefile.Folder, k *kept) error {
		f.Case.Repairs = append(f.Case.Repairs, casefile.Repair{Rung: rung, Done: done, OdometerKM: max(c.Odometer, 0), Parts: casefile.Line(c.Parts), Note: casefile.Line(c.Note)})
		k.say("written down: %s. What is added from now on is from after the work", rung)
		k.say("%s", row.Means)
		return nil
	})
}

type caseLadderCommand struct{}

func (caseLadderCommand) Run(e *env) error {
	return e.page(func(w io.Writer) error {
		var b strings.Builder
		b.WriteString("The repair ladder: the least work first, and the same passes again after each rung.\n" + casefile.LadderLimit + "\n\n")
		for i, r := range casefile.Ladder {
			fmt.Fprintf(&b, "%d. %-11s %s\n               %s\n               (%s)\n", i+1, r.ID, r.Do, r.Means, r.Source)
		}
		_, err := io.WriteString(w, b.String())
		return err
	})
}
