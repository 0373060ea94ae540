package cli

import (
	"errors"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"text/tabwriter"

	"github.com/judder-obd/judder/casefile"
	"github.com/judder-obd/judder/prose"
	"github.com/judder-obd/judder/session"
)

// casePage writes a case for people: what is known, and what it needs next.
func casePage(f *casefile.Folder) func(io.Writer) error {
	return func(w io.Writer) error {
		c := &f.Case
		var b strings.Builder
		fmt.Fprintf(&b, "case of %s%s\n", c.Opened.Format("2006-01-02 15:04"), in(c.Car.Name, ": "))
		fmt.Fprintf(&b, "  folder     %s\n", f.Dir())
		said := c.Complaint.Sentence()
		if said == "" {
			said = "none yet: write it into case.toml"
		}
		fmt.Fprintf(&b, "  complaint  %s\n", said)
		if box, _ := c.Complaint.Box(); !box.IsZero() {
			fmt.Fprintf(&b, "  read as    %s\n", box)
		}
		if c.Car.OdometerKM > 0 {
			fmt.Fprintf(&b, "  odometer   %.0f km\n", c.Car.OdometerKM)
		}
		for i := range c.Looks {
			fmt.Fprintf(&b, "  seen       %s\n", lookWords(&c.Looks[i]))
		}
		if r := &c.Request; *r != (casefile.Request{}) {
			fmt.Fprintf(&b, "  asked for  %s\n", requestWords(r))
		}
		for i := range c.Repairs {
			fmt.Fprintf(&b, "  done       %s\n", repairWords(&c.Repairs[i]))
		}
		for _, stage := range []casefile.Stage{casefile.Before, casefile.After} {
			var kinds []string
			for _, k := range []casefile.Kind{casefile.Drive, casefile.CodeCheck, casefile.Photo, casefile.Paper} {
				if n := len(c.Of(k, stage)); n > 0 {
					kinds = append(kinds, prose.Count(n, string(k), string(k)+"s"))
				}
			}
			if kinds != nil {
				fmt.Fprintf(&b, "  %-9s  %s\n", stage, strings.Join(kinds, ", "))
			}
		}
		b.WriteString("next:\n")
		for i, line := range nextSteps(f) {
			fmt.Fprintf(&b, "  %d.  %s\n", i+1, line)
		}
		_, err := io.WriteString(w, b.String())
		return err
	}
}

// nextSteps are what a case needs next, the first thing first.
func nextSteps(f *casefile.Folder) (steps []string) {
	c, dir := &f.Case, prose.Quoted(f.Dir())
	add := func(format string, args ...any) { steps = append(steps, fmt.Sprintf(format, args...)) }
	if names, err := f.Unlisted(); err == nil && len(names) > 0 {
		add("%s not part of the case yet: judder case add %s", prose.Count(len(names), "file in the folder is", "files in the folder are"), dir)
	}
	_, unread := c.Complaint.Box()
	for _, answer := range unread {
		add("%q is kept, but judder finds no speed, load or temperature in it to compare a drive with: write it into %s like \"60-70 km/h\", \"light\" or \"warm\"", answer, filepath.Join(f.Dir(), "case.toml"))
	}
	stage := casefile.Before
	if c.Repaired() {
		stage = casefile.After
	}
	if len(c.Of(casefile.CodeCheck, stage)) == 0 {
		add("codes %s the work: judder check --case %s --port PORT", stage, dir)
	}
	if len(c.Of(casefile.Drive, stage)) == 0 {
		add("road test %s the work: judder drive --case %s --port PORT. %s", stage, dir, planWords(c))
	}
	if len(c.Of(casefile.Photo, casefile.Before)) == 0 && !c.Repaired() {
		add("photos of odometer, fluid on a tissue, leaks, earlier damage: judder case add %s FOLDER", dir)
	}
	if !c.Repaired() {
		add("what is seen at the car: judder case look %s fluid-level --at-c ... --from-c ... --to-c ...", dir)
		add("what is asked for: judder case ask %s --for ... --estimate ...", dir)
		add("after the work: judder case repair %s RUNG", dir)
	}
	add("the paper: judder report %s --out FILE.html", dir)
	return steps
}

// planWords are the plan of a road test for the complaint of a case.
func planWords(c *casefile.Case) string {
	box, _ := c.Complaint.Box()
	plan := fmt.Sprintf("Plan: %d and more passes of %.0f s %s, the throttle held still; ease off between them; touch the brake in every second shudder", session.EnoughPasses, session.PassLeast.Seconds(), session.PlaceWords(box))
	if c.Repaired() {
		plan += "; the same road, speed and temperature as before the work"
	}
	return plan
}

// requestWords are what is asked of the payer, in one line.
func requestWords(r *casefile.Request) string {
	return strings.Join(nonEmpty(r.Authorise, r.Estimate, in(r.Contract, "contract "), in(r.Number, "authorised as ")), "; ")
}

// in is a text with words before it; "" without one.
func in(text, before string) string {
	if text == "" {
		return ""
	}
	return before + text
}

func nonEmpty(texts ...string) []string {
	return slices.DeleteFunc(texts, func(s string) bool { return s == "" })
}

// lookWords are an observation in one line.
func lookWords(l *casefile.Look) string {
	text := strings.Join(nonEmpty(string(l.Kind)+in(l.Place, ", "), l.Note), ": ")
	if f := l.Fluid; f != nil {
		text += "; " + f.Words()
	}
	if n := len(l.Photos); n > 0 {
		text += "; " + prose.Count(n, "photo", "photos")
	}
	return text
}

func repairWords(r *casefile.Repair) string {
	odometer := ""
	if r.OdometerKM > 0 {
		odometer = fmt.Sprintf("at %.0f km", r.OdometerKM)
	}
	return strings.Join(nonEmpty(r.Done.Format("2006-01-02")+" "+string(r.Rung), odometer, r.Parts, r.Note), "; ")
}

type caseListCommand struct {
	Dir string `arg:"" default:"." placeholder:"DIR" help:"A case, or a folder with cases in it. Default: here."`
}

func (c *caseListCommand) Run(e *env) error {
	if casefile.IsCase(c.Dir) {
		return e.listFiles(c.Dir)
	}
	entries, err := os.ReadDir(c.Dir)
	if err != nil {
		return err
	}
	w := tabwriter.NewWriter(e.out, 0, 0, 2, ' ', 0)
	found := 0
	for _, entry := range entries {
		dir := filepath.Join(c.Dir, entry.Name())
		if !entry.IsDir() || !casefile.IsCase(dir) {
			continue
		}
		found++
		f, err := casefile.Open(dir)
		if err != nil {
			e.say("%v", err)
			continue
		}
		k := &f.Case
		_, _ = fmt.Fprintf(w, "%s\t%s\t%s\t%s\t%s\n", dir, k.Opened.Format("2006-01-02"), k.Car.Name, standing(k), prose.Count(len(k.Files), "file", "files")) // Flush reports it
		if err := f.Close(); err != nil {
			return err
		}
	}
	if found == 0 {
		e.say("no case in %s; judder case new DIR makes one", c.Dir)
	}
	return w.Flush()
}

// standing is how far a case is.
func standing(c *casefile.Case) string {
	switch {
	case c.Ready() == casefile.After:
		return "repaired, tested again"
	case c.Repaired():
		return "repaired, not tested again"
	case c.Request.Number != "":
		return "authorised"
	}
	return "before the work"
}

// listFiles prints the files of a case, a line each.
func (e *env) listFiles(dir string) (err error) {
	f, err := casefile.Open(dir)
	if err != nil {
		return err
	}
	defer func() { err = errors.Join(err, f.Close()) }()
	w := tabwriter.NewWriter(e.out, 0, 0, 2, ' ', 0)
	for i := range f.Case.Files {
		row := &f.Case.Files[i]
		_, _ = fmt.Fprintf(w, "%s\t%s\t%s\t%s\t%d kB\t%.12s\t%s\n", row.Name, row.Kind, row.Stage, row.Added.Format("2006-01-02 15:04"), (row.Bytes+999)/1000, row.SHA256, row.Label) // Flush reports it
	}
	if len(f.Case.Files) == 0 {
		e.say("%s has no files yet; judder case add %s FILE adds some", dir, prose.Quoted(dir))
	}
	return w.Flush()
}
