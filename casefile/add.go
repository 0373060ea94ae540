package casefile

import (
	"bytes"
	"crypto/sha256"
	"encoding/hex"
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
	"unicode"

	"github.com/judder-obd/judder/session"
	"github.com/judder-obd/judder/session/recording"
)

// Adding is how files are added.
type Adding struct {
	Now   time.Time
	Label string
	Stage Stage // "" for the one by whether a repair is done, and by when the file says it was made
}

// Add copies a file into the folder and gives it a row; the original stays as it is. A file with
// the same bytes is added once: its row is returned and new is false. Save keeps the row.
func (f *Folder) Add(from string, how Adding) (row *File, isNew bool, err error) {
	if f.ReadOnly != nil {
		return nil, false, f.ReadOnly
	}
	info, err := os.Lstat(from)
	if err == nil && info.IsDir() {
		err = recording.ErrFolder
	}
	if err != nil {
		return nil, false, recording.NewFileError("open", from, err)
	}
	if !info.Mode().IsRegular() {
		return nil, false, fmt.Errorf("%s is no plain file: %w", from, ErrLink)
	}
	file, err := os.Open(from)
	if err != nil {
		return nil, false, recording.NewFileError("open", from, err)
	}
	defer func() { _ = file.Close() }() // read only
	if row, isNew, err = f.take(file, from, info, how); err == nil && isNew && row.Kind == Drive {
		name := row.Name
		if err = f.addMarks(from, name, how); err == nil {
			row = f.Case.File(name) // adding another row may have moved it
		}
	}
	return row, isNew, err
}

// Take is Add for a file that lies elsewhere, and Adopt for one that was put into the case by hand.
func (f *Folder) Take(path string, how Adding) (row *File, isNew bool, err error) {
	name := f.Within(path)
	if row := f.Case.File(name); row != nil {
		return row, false, nil
	}
	if names, err := f.unlisted(); err == nil && slices.Contains(names, name) {
		return f.Adopt(name, how)
	}
	return f.Add(path, how)
}

// addMarks copies the marks that were made at the bench beside a recording, under the name that
// their recording has in the case.
func (f *Folder) addMarks(from, name string, how Adding) error {
	from, name = from+session.BesideEnd, name+session.BesideEnd
	info, err := os.Lstat(from)
	if errors.Is(err, fs.ErrNotExist) {
		return nil
	}
	if err != nil || !info.Mode().IsRegular() {
		return errors.Join(fmt.Errorf("%s: %w", from, ErrLink), err)
	}
	data, err := os.ReadFile(from)
	if err != nil {
		return recording.NewFileError("read", from, err)
	}
	if err := tooLarge(Marks, int64(len(data))); err != nil {
		return fmt.Errorf("%s %w", from, err)
	}
	if err := f.write(name, bytes.NewReader(data)); err != nil {
		return err
	}
	f.row(Marks, name, fmt.Sprintf("%x", sha256.Sum256(data)), int64(len(data)), how)
	return nil
}

// Adopt gives a row to a file that lies in the folder already, such as a recording that was just
// made there.
func (f *Folder) Adopt(name string, how Adding) (row *File, isNew bool, err error) {
	if f.ReadOnly != nil {
		return nil, false, f.ReadOnly
	}
	file, err := f.open(name)
	if err != nil {
		return nil, false, err
	}
	defer func() { _ = file.Close() }() // read only
	info, err := file.Stat()
	if err != nil {
		return nil, false, err
	}
	kind, err := judged(file, name, info)
	if err != nil {
		return nil, false, err
	}
	if f.Case.File(name) != nil || !slices.Contains(fileFolders, path.Dir(name)) {
		return nil, false, fmt.Errorf("%s is part of the case already, or in none of its folders", name)
	}
	if kind == Photo { // also makes sure that it can be opened
		if err := f.shrink(file, path.Base(name)); err != nil {
			return nil, false, fmt.Errorf("%s %w", name, err)
		}
	}
	sum := sha256.New()
	if _, err := file.Seek(0, io.SeekStart); err != nil {
		return nil, false, err
	}
	if _, err := io.Copy(sum, file); err != nil {
		return nil, false, err
	}
	return f.row(kind, name, hex.EncodeToString(sum.Sum(nil)), info.Size(), how), true, nil
}

// ErrOwn is why the secret of a case and its case.toml are not taken, of this case or another.
var ErrOwn = errors.New("is judder's own: the key and the case.toml of a case are never added")

// own reports whether a file is named as what judder keeps a case in.
func own(name string) bool {
	return slices.Contains(ownNames, strings.ToLower(path.Base(filepath.ToSlash(name))))
}

var ownNames = []string{keyName, caseName}

// judged is the kind of a file, which is left at its start.
func judged(file *os.File, name string, info fs.FileInfo) (Kind, error) {
	if own(name) {
		return "", fmt.Errorf("%s %w", name, ErrOwn)
	}
	kind, err := kindOf(name, file)
	if err == nil {
		err = tooLarge(kind, info.Size())
	}
	if err != nil {
		return "", fmt.Errorf("%s %w", name, err)
	}
	_, err = file.Seek(0, io.SeekStart)
	return kind, err
}

// take copies an open file into the folder.
func (f *Folder) take(file *os.File, from string, info fs.FileInfo, how Adding) (row *File, isNew bool, err error) {
	kind, err := judged(file, from, info)
	if err != nil {
		return nil, false, err
	}
	sum := sha256.New()
	if _, err := io.Copy(sum, file); err != nil {
		return nil, false, fmt.Errorf("%s: %w", from, err)
	}
	hash := hex.EncodeToString(sum.Sum(nil))
	if i := slices.IndexFunc(f.Case.Files, func(o File) bool { return o.SHA256 == hash }); i >= 0 {
		return &f.Case.Files[i], false, nil
	}
	if name := f.left(folders[kind], filepath.Base(from), hash); name != "" {
		return f.Adopt(name, how)
	}
	name, err := f.free(folders[kind], filepath.Base(from))
	if err != nil {
		return nil, false, err
	}
	if kind == Photo { // first: a photo that cannot be opened leaves nothing behind
		if err := f.shrink(file, path.Base(name)); err != nil {
			return nil, false, fmt.Errorf("%s %w", from, err)
		}
	}
	if _, err := file.Seek(0, io.SeekStart); err != nil {
		return nil, false, err
	}
	copied := sha256.New()
	if err := f.write(name, io.TeeReader(file, copied)); err != nil {
		return nil, false, err
	}
	if !bytes.Equal(copied.Sum(nil), sum.Sum(nil)) {
		return nil, false, errors.Join(fmt.Errorf("%s changed while it was copied; add it again", from), f.root.Remove(name))
	}
	return f.row(kind, name, hash, info.Size(), how), true, nil
}

func (f *Folder) row(kind Kind, name, hash string, size int64, how Adding) *File {
	stage := how.Stage
	if stage == "" {
		stage = f.stageOf(kind, name)
	}
	f.Case.Files = append(f.Case.Files, File{Name: name, Kind: kind, Label: Line(how.Label), Stage: stage, Added: how.Now.Truncate(time.Second), Bytes: size, SHA256: hash})
	return &f.Case.Files[len(f.Case.Files)-1]
}

// shrink keeps the copy of a photo for the report.
func (f *Folder) shrink(file *os.File, base string) error {
	photo, err := io.ReadAll(io.NewSectionReader(file, 0, mostBytes[Photo]))
	if err != nil {
		return err
	}
	copied, err := Shrink(photo)
	if err != nil {
		return err
	}
	if err := f.root.MkdirAll(small, 0o700); err != nil {
		return err
	}
	return f.write(smallName(base), bytes.NewReader(copied))
}

func smallName(base string) string { return path.Join(small, base+".jpg") }

// free is a name in a folder of the case that is like the given one, plain, and not taken yet.
func (f *Folder) free(folder, like string) (string, error) {
	if err := f.root.MkdirAll(folder, 0o700); err != nil {
		return "", err
	}
	base, ending := plainBase(like)
	for n := 1; ; n++ {
		name := path.Join(folder, base+ending)
		if n > 1 {
			name = path.Join(folder, fmt.Sprintf("%s-%d%s", base, n, ending))
		}
		if _, err := f.root.Lstat(name); errors.Is(err, fs.ErrNotExist) {
			return name, nil
		} else if err != nil {
			return "", err
		}
	}
}

// left is the copy of a file that was made without a row being kept; "" for none.
func (f *Folder) left(folder, like, hash string) string {
	base, ending := plainBase(like)
	name := path.Join(folder, base+ending)
	if f.Case.File(name) != nil {
		return ""
	}
	if sum, err := f.hash(name); err != nil || sum != hash {
		return ""
	}
	return name
}

// plainBase is a file's name with nothing in it but letters, digits, "-", "_" and "."; not too long,
// and never a hidden one.
func plainBase(like string) (base, ending string) {
	like = strings.Map(func(r rune) rune {
		if unicode.IsLetter(r) || unicode.IsDigit(r) || r == '-' || r == '_' || r == '.' {
			return r
		}
		return '-'
	}, strings.ToValidUTF8(like, "-"))
	ending = path.Ext(like)
	base = strings.Trim(strings.TrimSuffix(like, ending), ".-")
	if len(ending) > 12 {
		ending = ""
	}
	const most = 80
	for len(base) > most {
		runes := []rune(base)
		base = string(runes[:len(runes)-1])
	}
	switch first, _, _ := strings.Cut(base, "."); {
	case base == "":
		base = "file"
	case slices.Contains(devices, strings.ToUpper(first)):
		base = "file-" + base
	}
	if ending == "." {
		ending = ""
	}
	return base, strings.ToLower(ending)
}

// devices are names that Windows has for devices, whatever follows their first dot (Microsoft, "Naming
// Files, Paths, and Namespaces"): a case with such a file would not open there.
var devices = []string{"CON", "PRN", "AUX", "NUL", "COM0", "COM1", "COM2", "COM3", "COM4", "COM5", "COM6", "COM7", "COM8", "COM9",
	"LPT0", "LPT1", "LPT2", "LPT3", "LPT4", "LPT5", "LPT6", "LPT7", "LPT8", "LPT9"}

// Inside are the plain files of a folder that somebody wants to add, in order of their names;
// folders in it, links and hidden files are left out.
func Inside(dir string) (paths []string, err error) {
	entries, err := os.ReadDir(dir)
	if err != nil {
		return nil, recording.NewFileError("open", dir, err)
	}
	for _, e := range entries {
		if e.Type().IsRegular() && !strings.HasPrefix(e.Name(), ".") {
			paths = append(paths, filepath.Join(dir, e.Name()))
		}
	}
	return paths, nil
}
