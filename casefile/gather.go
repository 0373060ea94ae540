package casefile

import (
	"crypto/sha256"
	"encoding/hex"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"path"
	"time"

	"github.com/judder-obd/judder/check"
	"github.com/judder-obd/judder/session"
	"github.com/judder-obd/judder/session/recording"
)

// Evidence is a case with all that its files hold, as values: what a paper is made of.
type Evidence struct {
	Case   Case
	Drives []DriveFile
	Checks []CheckFile
	Photos []PhotoFile
	Hashes []Hash // of every file, in the order of the case
}

// DriveFile is a recording and what was found in it.
type DriveFile struct {
	File   *File
	Header recording.Header
	Result session.Result
	Course session.Course
	Err    error // why it could not be read; the rest is empty
}

// CheckFile is a code check.
type CheckFile struct {
	File   *File
	Report *check.Report
	Err    error
}

// PhotoFile is a photo's copy without place, time and device: a JPEG file.
type PhotoFile struct {
	File *File
	JPEG []byte
	Err  error
}

// Hash is the SHA-256 of a file now.
type Hash struct {
	File *File
	Now  string // hexadecimal; "" where the file cannot be read
	Err  error
}

// Changed reports whether a file has other bytes than when it was added.
func (h *Hash) Changed() bool { return h.Err == nil && h.Now != h.File.SHA256 }

// At is when the drive began; zero where that is not known.
func (d *DriveFile) At() time.Time { return d.Header.Start }

// Gather reads every file of the case. A file that cannot be read is part of the evidence, with
// why.
func (f *Folder) Gather() *Evidence {
	e := &Evidence{Case: f.Case}
	for i := range f.Case.Files {
		file := &f.Case.Files[i]
		h := Hash{File: file}
		h.Now, h.Err = f.hash(file.Name)
		e.Hashes = append(e.Hashes, h)
		switch file.Kind {
		case Drive:
			e.Drives = append(e.Drives, f.drive(file))
		case CodeCheck:
			e.Checks = append(e.Checks, f.codeCheck(file))
		case Photo:
			e.Photos = append(e.Photos, f.photo(file))
		}
	}
	return e
}

// plain holds that a file may be opened by its path: it is in the folder, and no link.
func (f *Folder) plain(name string) error {
	file, err := f.open(name)
	if err != nil {
		return err
	}
	return file.Close()
}

func (f *Folder) hash(name string) (sum string, err error) {
	file, err := f.open(name)
	if err != nil {
		return "", err
	}
	defer func() { err = errors.Join(err, file.Close()) }()
	h := sha256.New()
	if _, err := io.Copy(h, file); err != nil {
		return "", err
	}
	return hex.EncodeToString(h.Sum(nil)), nil
}

// drive reads a recording, held against the complaint of the case where it has one.
func (f *Folder) drive(file *File) DriveFile {
	d := DriveFile{File: file}
	if d.Err = f.plain(file.Name); d.Err != nil {
		return d
	}
	if err := f.plain(file.Name + session.BesideEnd); err != nil && !errors.Is(err, fs.ErrNotExist) {
		d.Err = err
		return d
	}
	review := session.Review
	if box, _ := f.Case.Complaint.Box(); !box.IsZero() {
		review = func(path string) (session.Result, error) { return session.ReviewFor(path, box) }
	}
	path := f.Path(file.Name)
	if d.Result, d.Err = review(path); d.Err != nil {
		return d
	}
	samples, _, _, err := session.Readings(path)
	if err != nil {
		d.Err = err
		return d
	}
	d.Course = session.CourseOf(samples)
	d.Header, d.Err = headerOf(path)
	return d
}

// headerOf is the head of a recording, with what later lines added to it.
func headerOf(path string) (recording.Header, error) {
	r, err := recording.Open(path)
	if err != nil {
		return recording.Header{}, err
	}
	defer func() { _ = r.Close() }() // read only
	for r.Next() {
		_ = r.Entry()
	}
	return r.Header(), r.Err()
}

func (f *Folder) codeCheck(file *File) CheckFile {
	c := CheckFile{File: file}
	if c.Err = f.plain(file.Name); c.Err == nil {
		c.Report, c.Err = check.Load(f.Path(file.Name))
	}
	return c
}

// photo is the copy of a photo. It is made again where it is missing, or where it holds more than a
// picture.
func (f *Folder) photo(file *File) PhotoFile {
	p := PhotoFile{File: file}
	const most = 8 << 20
	copied, err := f.readSome(smallName(path.Base(file.Name)), most)
	if err == nil && bare(copied) {
		p.JPEG = copied
		return p
	}
	whole, err := f.readSome(file.Name, mostBytes[Photo])
	if err == nil {
		p.JPEG, err = Shrink(whole)
	}
	if err != nil {
		p.Err = fmt.Errorf("%s: %w", file.Name, err)
	}
	return p
}
