package cli

import (
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"strings"

	"github.com/judder-obd/judder/casefile"
	"github.com/judder-obd/judder/prose"
)

type caseAddCommand struct {
	Dir    string   `arg:"" placeholder:"DIR" help:"A case."`
	Files  []string `arg:"" optional:"" name:"FILE" help:"Files, or folders: of a folder, what is new in it. None: what was put into DIR by hand."`
	Label  string   `placeholder:"WORD" help:"What it shows, in a word or a few. Default: asked for each photo on a terminal."`
	Before bool     `help:"It is from before the work."`
	After  bool     `help:"It is from after the work."`
}

func (c *caseAddCommand) Run(e *env) error {
	if c.Before && c.After {
		return usageError("give one of --before and --after")
	}
	words := map[string]string{} // so that nobody is asked twice
	failed := 0
	err := e.change(c.Dir, func(f *casefile.Folder, k *kept) error { // what could be added is kept, whatever could not
		a := adding{e: e, f: f, kept: k, words: words, how: casefile.Adding{Now: e.today(), Label: c.Label}}
		switch {
		case c.Before:
			a.how.Stage = casefile.Before
		case c.After:
			a.how.Stage = casefile.After
		}
		if err := a.sweep(); err != nil {
			return err
		}
		if err := a.all(c.Files); err != nil {
			return err
		}
		a.conclude()
		failed = a.failed
		return nil
	})
	if err == nil && failed > 0 {
		err = errors.New(prose.Count(failed, "file was", "files were") + " not added; the lines above say why")
	}
	return err
}

// adding adds files one by one; a file that cannot be added stops no other.
type adding struct {
	e   *env
	f   *casefile.Folder
	how casefile.Adding
	*kept

	words         map[string]string // that were typed for a photo, by its path
	lines         *lineAsker
	added, photos int
	again         int // files that the case has already
	failed        int
	own           []string // names of judder's own files, which are not taken
}

// sweep clears up what an add left that was ended, and names what may be left or still be growing.
func (a *adding) sweep() error {
	removed, young, err := a.f.Sweep()
	if removed != nil {
		a.e.say("removed what an add that was ended had left: %s", strings.Join(removed, ", "))
	}
	if young != nil {
		a.e.say("another add goes on, or was ended and left %s; one that was ended is cleared up by the next add in a minute", strings.Join(young, ", "))
	}
	return err
}

func (a *adding) all(files []string) error {
	if len(files) == 0 {
		names, err := a.f.Unlisted()
		if err != nil {
			return err
		}
		for _, name := range names {
			a.one(a.f.Path(name), func(how casefile.Adding) (*casefile.File, bool, error) { return a.f.Adopt(name, how) })
		}
		if names == nil {
			a.e.say("nothing new was put into %s by hand; name files or a folder to add them", a.f.Dir())
		}
		return nil
	}
	for _, path := range files {
		list := []string{path}
		if info, err := os.Lstat(path); err == nil && info.IsDir() {
			if list, err = casefile.Inside(path); err != nil {
				return err
			}
		}
		for _, path := range list {
			a.one(path, func(how casefile.Adding) (*casefile.File, bool, error) { return a.f.Take(path, how) })
		}
	}
	return nil
}

// one adds a file, and asks for a word for a photo.
func (a *adding) one(path string, add func(casefile.Adding) (*casefile.File, bool, error)) {
	row, isNew, err := add(a.how)
	if errors.Is(err, casefile.ErrOwn) {
		a.own = append(a.own, filepath.Base(path))
		return
	}
	if err != nil {
		a.failed++
		a.e.say("not added: %v", err)
		return
	}
	if !isNew {
		a.again++
		return
	}
	a.added++
	if row.Kind == casefile.Photo {
		a.photos++
		if row.Label == "" && a.e.typing() {
			row.Label = a.word(path)
		}
	}
	a.say("added %s (%s, %s the work)%s", row.Name, row.Kind, row.Stage, whyPaper(path, row.Kind))
}

// whyPaper says why a file that is named like a recording was added as a paper; "" for any other.
func whyPaper(path string, kind casefile.Kind) string {
	if kind != casefile.Paper || !strings.EqualFold(filepath.Ext(path), recordingEnding) {
		return ""
	}
	if is, err := openable(path); is && err == nil {
		return ": its first line is damaged, so it was added as a paper"
	}
	return ": it is no judder recording, so it was added as a paper"
}

// word asks what a photo shows.
func (a *adding) word(path string) string {
	if word, typed := a.words[path]; typed {
		return word
	}
	if a.lines == nil {
		a.lines = a.e.lines()
	}
	word, ok, err := a.lines.ask(fmt.Sprintf("%s: what does it show, in a word? ", path))
	if !ok || err != nil {
		return ""
	}
	a.words[path] = casefile.Line(word)
	return a.words[path]
}

// conclude says what has to be known of what was added.
func (a *adding) conclude() {
	if a.again > 0 {
		a.say("%s in the case already", prose.Count(a.again, "file was", "files were"))
	}
	if a.own != nil {
		a.say("left out, because the key and the case.toml of a case are never added: %s", strings.Join(a.own, ", "))
	}
	if a.photos > 0 {
		a.say("papers show a small copy of each photo, without place, time and device; the photo itself keeps them. Look for readable number plates and faces before you hand a paper on")
	}
}
