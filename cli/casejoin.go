package cli

import (
	"errors"
	"fmt"
	"io/fs"
	"path/filepath"
	"strings"

	"github.com/judder-obd/judder/casefile"
	"github.com/judder-obd/judder/cli/remember"
	"github.com/judder-obd/judder/prose"
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
		s := e.settings()
		if s.Case == "" || s.CaseDay != e.started.Format(dayForm) {
			return nil, nil
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
	path := absolute(dir)
	e.remember(func(s *remember.Settings) { s.Case, s.CaseDay = path, e.started.Format(dayForm) })
	return j, nil
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

// take gives rows to files that were just made: the ones at paths and, of a recording, what is named
// after it. One that lies outside of the case is copied into it; one that is not there is nothing.
func (j *joined) take(paths ...string) error {
	err := j.takeOnce(paths)
	if err != nil {
		return fmt.Errorf("%w; the files are there, judder case add %s makes them part of the case", err, prose.Quoted(j.dir))
	}
	return nil
}

func (j *joined) takeOnce(paths []string) error {
	return j.e.change(j.dir, func(f *casefile.Folder, k *kept) error {
		var wrong []error
		taken := 0
		for _, path := range paths {
			n, err := j.one(f, path)
			taken += n
			if err != nil {
				wrong = append(wrong, err)
			}
		}
		if wrong != nil {
			j.e.say("not part of the case yet: %v; judder case add %s takes it", errors.Join(wrong...), prose.Quoted(j.dir))
		}
		if taken > 0 {
			k.say("part of the case in %s", j.dir)
		}
		return nil
	})
}

func (j *joined) one(f *casefile.Folder, path string) (taken int, err error) {
	how := casefile.Adding{Now: j.e.today()}
	inside := f.Within(path)
	if inside == "" {
		_, isNew, err := f.Add(path, how)
		if errors.Is(err, fs.ErrNotExist) {
			return 0, nil
		}
		if isNew {
			taken++
		}
		return taken, err
	}
	names, err := f.Unlisted()
	if err != nil {
		return 0, err
	}
	stem := strings.TrimSuffix(inside, filepath.Ext(inside))
	for _, name := range names {
		if name != inside && !strings.HasPrefix(name, stem+"-check-") {
			continue
		}
		if _, _, err := f.Adopt(name, how); err != nil {
			return taken, err
		}
		taken++
	}
	return taken, nil
}
