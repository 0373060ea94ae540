package cli

import (
	"errors"
	"fmt"
	"path/filepath"
	"strings"

	"github.com/judder-obd/judder/casefile"
	"github.com/judder-obd/judder/cli/remember"
	"github.com/judder-obd/judder/session/complaint"
)

// caseFlags let a drive or a check join a case.
type caseFlags struct {
	Case   string `placeholder:"DIR" help:"Keep it in this case. Remembered until midnight: the next drive and check join it too."`
	NoCase bool   `help:"Join no case, even where one is remembered."`
}

// joined is a case that a drive or a check joins. The folder is not held open meanwhile, so that
// photos can be added to it.
type joined struct {
	e         *env
	dir       string
	complaint complaint.Box
	digest    func(vin string) string // nil where the case has no secret
}

// dayForm is how a day is remembered.
const dayForm = "2006-01-02"

// join is the case that is named or remembered; nil for none.
func (c *caseFlags) join(e *env) (*joined, error) {
	dir := c.Case
	switch {
	case c.NoCase && dir != "":
		return nil, usageError("give one of --case and --no-case")
	case c.NoCase:
		return nil, nil
	case dir == "":
		s, err := remember.Load()
		if err != nil || s.Case == "" || s.CaseDay != e.started.Format(dayForm) {
			return nil, nil // what cannot be read is said where it is changed
		}
		dir = s.Case
	}
	f, err := openCase(dir)
	if err != nil {
		if c.Case == "" {
			err = fmt.Errorf("the case of today: %w; --no-case joins none", err)
		}
		return nil, err
	}
	j := &joined{e: e, dir: dir}
	j.complaint, _ = f.Case.Complaint.Box()
	digest, err := f.Digest()
	if err != nil {
		e.say("%v", err)
	}
	j.digest = digest
	if err := f.Close(); err != nil {
		return nil, err
	}
	if c.Case == "" {
		e.say("joins the case of today, %s; --no-case joins none", dir)
		return j, nil
	}
	return j, j.remember()
}

// remember keeps the case for the rest of the day. A computer that cannot is no reason to stop.
func (j *joined) remember() error {
	path, err := filepath.Abs(j.dir)
	if err != nil {
		return err
	}
	if err := remember.Change(func(s *remember.Settings) { s.Case, s.CaseDay = path, j.e.started.Format(dayForm) }); err != nil {
		j.e.say("%v", err)
	}
	return nil
}

// place is where a new file of the case goes: in one of its folders, named as it would be named
// here.
func (j *joined) place(folder, before, ending string) (string, error) {
	f, err := openCase(j.dir)
	if err != nil {
		return "", err
	}
	err = f.Make(folder)
	return j.e.dated(filepath.Join(j.dir, folder, before), ending), errors.Join(err, f.Close())
}

// take gives rows to files that were just made in the case: the one at path and what is named after
// it. One that lies elsewhere is copied.
func (j *joined) take(paths ...string) error {
	return j.e.change(j.dir, func(f *casefile.Folder) error {
		how := casefile.Adding{Now: j.e.today()}
		names, err := f.Unlisted()
		if err != nil {
			return err
		}
		var wrong error
		for _, path := range paths {
			stem := strings.TrimSuffix(path, filepath.Ext(path))
			inside := false
			for _, name := range names {
				if !strings.HasPrefix(f.Path(name), stem) || f.Case.File(name) != nil {
					continue
				}
				inside = inside || f.Path(name) == path
				_, _, err := f.Adopt(name, how)
				wrong = errors.Join(wrong, err)
			}
			if !inside && f.Within(path) == "" {
				_, _, err := f.Add(path, how)
				wrong = errors.Join(wrong, err)
			}
		}
		if wrong != nil {
			j.e.say("not in the case yet: %v; judder case add %s takes it", wrong, j.dir)
			return nil
		}
		j.e.say("it is part of the case in %s", j.dir)
		return nil
	})
}
