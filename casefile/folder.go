package casefile

import (
	"bytes"
	"crypto/rand"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"path"
	"path/filepath"
	"slices"
	"strings"
	"time"

	"github.com/judder-obd/judder/prose"
	"github.com/judder-obd/judder/session/recording"
)

// Names in a folder.
const (
	caseName = "case.toml"
	keyName  = "car.key"
	turnName = ".saving" // is there while case.toml is written
	newBegin = ".new-"   // begins the name of a file that is not whole yet
)

// mostCase is how large case.toml may be.
const mostCase = 4 << 20

// Folder is an open case. No name in it can lead out of it: the system holds that.
type Folder struct {
	Case     Case
	ReadOnly error // why nothing may be written; nil when it may

	dir  string
	root *os.Root
	was  []byte // case.toml as it was read or last written
}

// Errors of a folder.
var (
	ErrIsCase   = errors.New("is a case already; judder case show shows it")
	ErrNoCase   = errors.New("is no case: it has no case.toml; judder case new makes one")
	ErrNewer    = errors.New("was written by a newer judder: it can be read and not changed; use the newer judder")
	ErrMeantime = errors.New("case.toml was changed by somebody else meanwhile; nothing was written: do it again")
)

// New makes a folder, or takes an empty one or one with files, and puts a case into it.
func New(dir string, c *Case) (*Folder, error) {
	if err := os.MkdirAll(dir, 0o700); err != nil {
		return nil, fmt.Errorf("the folder cannot be made: %w; give another name", err)
	}
	f, err := open(dir)
	if err != nil {
		return nil, err
	}
	if _, err := f.root.Lstat(caseName); err == nil {
		return nil, errors.Join(fmt.Errorf("%s %w", dir, ErrIsCase), f.Close())
	}
	f.Case = *c
	f.Case.Version = Version
	key := make([]byte, keyBytes)
	_, _ = rand.Read(key) // never fails (crypto/rand)
	if err := f.keepKey(key); err != nil {
		return nil, errors.Join(err, f.Close())
	}
	if err := f.Save(); err != nil {
		return nil, errors.Join(err, f.Close())
	}
	return f, nil
}

// Open opens a case. A case of a newer version opens with ReadOnly set; one that cannot be
// understood is an error with the place in case.toml.
func Open(dir string) (*Folder, error) {
	f, err := open(dir)
	if err != nil {
		return nil, err
	}
	if err := f.load(); err != nil {
		return nil, errors.Join(err, f.Close())
	}
	return f, nil
}

func open(dir string) (*Folder, error) {
	root, err := os.OpenRoot(dir)
	if errors.Is(err, fs.ErrNotExist) {
		return nil, fmt.Errorf("%s does not exist; judder case new %s makes it", dir, prose.Quoted(dir))
	}
	if err != nil {
		if info, statErr := os.Stat(dir); statErr == nil && !info.IsDir() {
			return nil, fmt.Errorf("%s is a file: give the folder of a case", dir)
		}
		return nil, recording.NewFileError("open", dir, err)
	}
	return &Folder{dir: dir, root: root}, nil
}

func (f *Folder) load() error {
	text, err := f.readSome(caseName, mostCase)
	if errors.Is(err, fs.ErrNotExist) {
		return fmt.Errorf("%s %w", f.dir, ErrNoCase)
	}
	if err != nil {
		return err
	}
	f.was = text
	f.Case, err = parse(filepath.Join(f.dir, caseName), text)
	if errors.Is(err, ErrNewer) {
		f.ReadOnly, err = fmt.Errorf("%s %w", f.dir, ErrNewer), nil
	}
	return err
}

// Close lets go of the folder.
func (f *Folder) Close() error { return f.root.Close() }

// Dir is the folder as it was named.
func (f *Folder) Dir() string { return f.dir }

// Path is a file of the folder as the system names it.
func (f *Folder) Path(name string) string { return filepath.Join(f.dir, filepath.FromSlash(name)) }

// Save writes case.toml. It refuses when somebody else has changed the file since it was read, or
// changes it at this moment: the error is ErrMeantime.
func (f *Folder) Save() (err error) {
	if f.ReadOnly != nil {
		return f.ReadOnly
	}
	if err := f.takeTurn(); err != nil {
		return err
	}
	defer func() { err = errors.Join(err, f.root.Remove(turnName)) }()
	now, err := f.readSome(caseName, mostCase)
	if err == nil && !bytes.Equal(now, f.was) || err != nil && !errors.Is(err, fs.ErrNotExist) {
		return errors.Join(ErrMeantime, err)
	}
	text, err := f.Case.text()
	if err != nil {
		return err
	}
	if err := f.write(caseName, bytes.NewReader(text)); err != nil {
		return err
	}
	f.was = text
	return nil
}

// crashed is how long after its last change a file that is in the making counts as left by a crash.
const crashed = time.Minute

// takeTurn makes the file that only one program can make, so that no two look at case.toml and write it
// at the same time. One that a crash left behind counts for a minute.
func (f *Folder) takeTurn() error {
	for {
		turn, err := f.root.OpenFile(turnName, os.O_WRONLY|os.O_CREATE|os.O_EXCL, 0o600)
		if err == nil {
			return turn.Close()
		}
		if !errors.Is(err, fs.ErrExist) {
			return fmt.Errorf("%s cannot be written: %w", f.Path(caseName), err)
		}
		info, err := f.root.Lstat(turnName)
		switch {
		case errors.Is(err, fs.ErrNotExist): // just given up
		case err != nil:
			return err
		case time.Since(info.ModTime()).Abs() < crashed:
			return ErrMeantime
		default:
			if err := f.root.Remove(turnName); err != nil && !errors.Is(err, fs.ErrNotExist) {
				return err
			}
		}
	}
}

// write writes a file whole or not at all.
func (f *Folder) write(name string, from io.Reader) (err error) {
	temporary := path.Join(path.Dir(name), newBegin+rand.Text()[:8])
	file, err := f.root.OpenFile(temporary, os.O_WRONLY|os.O_CREATE|os.O_EXCL, 0o600)
	if err != nil {
		return fmt.Errorf("%s cannot be written: %w", f.Path(name), err)
	}
	_, err = io.Copy(file, from)
	if err == nil {
		err = file.Sync()
	}
	if err = errors.Join(err, file.Close()); err == nil {
		err = f.root.Rename(temporary, name)
	}
	if err != nil {
		return errors.Join(fmt.Errorf("%s cannot be written: %w", f.Path(name), err), f.root.Remove(temporary))
	}
	return nil
}

// Sweep removes the beginnings of files that were left where an add was ended, and returns their names.
// Those that may still grow, because they changed less than a minute ago, stay and are returned as well.
func (f *Folder) Sweep() (removed, young []string, err error) {
	if f.ReadOnly != nil {
		return nil, nil, f.ReadOnly
	}
	for _, dir := range append([]string{".", small}, fileFolders...) {
		entries, err := f.list(dir)
		if err != nil {
			return removed, young, err
		}
		for _, e := range entries {
			name := path.Join(dir, e.Name())
			info, err := e.Info()
			switch {
			case !strings.HasPrefix(e.Name(), newBegin) || errors.Is(err, fs.ErrNotExist):
			case err != nil:
				return removed, young, err
			case !info.Mode().IsRegular():
			case time.Since(info.ModTime()).Abs() < crashed:
				young = append(young, name)
			default:
				if err := f.root.Remove(name); err != nil && !errors.Is(err, fs.ErrNotExist) {
					return removed, young, err
				}
				removed = append(removed, name)
			}
		}
	}
	return removed, young, nil
}

// list is what lies in a folder of the case; nothing where there is none.
func (f *Folder) list(dir string) ([]fs.DirEntry, error) {
	d, err := f.root.Open(dir)
	if errors.Is(err, fs.ErrNotExist) {
		return nil, nil
	}
	if err != nil {
		return nil, err
	}
	entries, err := d.ReadDir(-1)
	return entries, errors.Join(err, d.Close())
}

// readSome reads a file of at most so many bytes that is a file and no link.
func (f *Folder) readSome(name string, most int64) ([]byte, error) {
	file, err := f.open(name)
	if err != nil {
		return nil, err
	}
	defer func() { _ = file.Close() }() // read only
	text, err := io.ReadAll(io.LimitReader(file, most+1))
	if err == nil && int64(len(text)) > most {
		err = fmt.Errorf("%s has more than %d MB, which is too much", f.Path(name), most>>20)
	}
	return text, err
}

// open opens a file of the folder to be read. A link is refused, wherever it leads: what is in a
// case is in the folder.
func (f *Folder) open(name string) (*os.File, error) {
	info, err := f.root.Lstat(filepath.FromSlash(name))
	if err != nil {
		return nil, err
	}
	if !info.Mode().IsRegular() {
		return nil, fmt.Errorf("%s is no plain file: %w", f.Path(name), ErrLink)
	}
	return f.root.Open(filepath.FromSlash(name))
}

// ErrLink is why something that is no plain file is not taken.
var ErrLink = errors.New("links and devices are not taken; copy the file itself")

// New files in the folders of a case that case.toml has no row for, in order of their names.
func (f *Folder) unlisted() (names []string, err error) {
	for _, dir := range fileFolders {
		entries, err := f.list(dir)
		if err != nil {
			return nil, err
		}
		for _, e := range entries {
			name := path.Join(dir, e.Name())
			if e.Type().IsRegular() && e.Name()[0] != '.' && !own(name) && f.Case.File(name) == nil {
				names = append(names, name)
			}
		}
	}
	slices.Sort(names)
	return names, nil
}

// Unlisted are files that lie in the folder and are no part of the case yet: judder case add DIR
// takes them.
func (f *Folder) Unlisted() ([]string, error) { return f.unlisted() }

// IsCase reports whether a folder holds a case.
func IsCase(dir string) bool {
	info, err := os.Lstat(filepath.Join(dir, caseName))
	return err == nil && info.Mode().IsRegular()
}

// Within is a path of the system as a name in the folder; "" when it leads elsewhere.
func (f *Folder) Within(path string) string {
	here, err := filepath.Abs(f.dir)
	if err != nil {
		return ""
	}
	there, err := filepath.Abs(path)
	if err != nil {
		return ""
	}
	name, err := filepath.Rel(here, there)
	if err != nil || !filepath.IsLocal(name) {
		return ""
	}
	return filepath.ToSlash(name)
}

// Make makes one of the folders for files, where there is none yet.
func (f *Folder) Make(folder string) error {
	if err := f.root.MkdirAll(folder, 0o700); err != nil {
		return fmt.Errorf("%s cannot be made: %w", f.Path(folder), err)
	}
	return nil
}
