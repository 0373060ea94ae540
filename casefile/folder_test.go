package casefile

import (
	"bytes"
	"errors"
	"image"
	"image/jpeg"
	"io/fs"
	"os"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/judder-obd/judder/session"
	"github.com/judder-obd/judder/session/recording"
)

var noon = time.Date(2026, 11, 29, 12, 0, 0, 0, time.UTC)

// newCase makes a case in a folder of the test.
func newCase(t *testing.T) *Folder {
	t.Helper()
	f, err := New(filepath.Join(t.TempDir(), "car"), &Case{Opened: noon, Program: "judder test", Complaint: Complaint{Words: "hums like a rumble strip", Speed: "60-70 km/h"}})
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { _ = f.Close() })
	return f
}

func put(t *testing.T, path string, data []byte) string {
	t.Helper()
	if err := os.MkdirAll(filepath.Dir(path), 0o700); err != nil {
		t.Fatal(err)
	}
	if err := os.WriteFile(path, data, 0o600); err != nil {
		t.Fatal(err)
	}
	return path
}

// photoOf is a photo of a size, dark at its left.
func photoOf(t *testing.T, w, h int) []byte {
	t.Helper()
	img := image.NewGray(image.Rect(0, 0, w, h))
	for y := range h {
		for x := range w {
			img.Pix[y*img.Stride+x] = uint8(255 * x / w)
		}
	}
	var b bytes.Buffer
	if err := jpeg.Encode(&b, img, nil); err != nil {
		t.Fatal(err)
	}
	return b.Bytes()
}

func mustAdd(t *testing.T, f *Folder, path string, how Adding) *File {
	t.Helper()
	row, _, err := f.Add(path, how)
	if err != nil {
		t.Fatal(err)
	}
	if err := f.Save(); err != nil {
		t.Fatal(err)
	}
	return row
}

// What is put into a case comes out of it, and the original is untouched.
func TestFolder(t *testing.T) {
	f := newCase(t)
	f.Case.Car.OdometerKM = 123456
	f.Case.Looks = []Look{{At: noon, Kind: FluidLevel, Place: "overflow plug", Note: "a little low", Fluid: &Fluid{AtC: 54, FromC: 50, ToC: 60, Page: "maker's page 7"}}}
	f.Case.Repairs = []Repair{{Rung: RungFluid, Done: noon.Add(time.Hour), OdometerKM: 123460, Parts: "9 l"}}
	photo := photoOf(t, 1600, 800)
	original := put(t, filepath.Join(t.TempDir(), "Pan 1.JPG"), photo)
	row := mustAdd(t, f, original, Adding{Now: noon, Label: "pan"})
	if row.Name != "photos/Pan-1.jpg" || row.Kind != Photo || row.Stage != After {
		t.Errorf("row %+v", row)
	}
	if again, isNew, err := f.Add(original, Adding{Now: noon}); err != nil || isNew || again.Name != row.Name {
		t.Errorf("added twice: %+v, new %v, %v", again, isNew, err)
	}
	if now, _ := os.ReadFile(original); !bytes.Equal(now, photo) {
		t.Error("the original has changed")
	}
	g, err := Open(f.Dir())
	if err != nil {
		t.Fatal(err)
	}
	defer func() { _ = g.Close() }()
	c := &g.Case
	if c.Complaint != f.Case.Complaint || c.Car != f.Case.Car || !c.Opened.Equal(noon) || len(c.Looks) != 1 || *c.Looks[0].Fluid != *f.Case.Looks[0].Fluid ||
		len(c.Repairs) != 1 || !c.Repairs[0].Done.Equal(noon.Add(time.Hour)) || len(c.Files) != 1 || c.Files[0].SHA256 != row.SHA256 || !c.Request.Given.IsZero() {
		t.Errorf("%+v", c)
	}
	e := g.Gather()
	if len(e.Photos) != 1 || e.Photos[0].Err != nil || e.Hashes[0].Changed() || !bare(e.Photos[0].JPEG) {
		t.Errorf("%+v %+v", e.Photos, e.Hashes)
	}
	put(t, g.Path(row.Name), append(photo, 0))
	if e = g.Gather(); !e.Hashes[0].Changed() {
		t.Error("a changed file has its old hash")
	}
}

// Two writers: the second one is refused, and nothing of the first is lost.
func TestSave_Meantime(t *testing.T) {
	f := newCase(t)
	g, err := Open(f.Dir())
	if err != nil {
		t.Fatal(err)
	}
	defer func() { _ = g.Close() }()
	f.Case.Car.Name = "first"
	g.Case.Car.Name = "second"
	if err := f.Save(); err != nil {
		t.Fatal(err)
	}
	if err := g.Save(); !errors.Is(err, ErrMeantime) {
		t.Errorf("the second writer: %v", err)
	}
	if text, _ := os.ReadFile(f.Path(caseName)); !bytes.Contains(text, []byte("first")) {
		t.Errorf("%s", text)
	}
	if left, _ := filepath.Glob(filepath.Join(f.Dir(), ".new-*")); left != nil {
		t.Errorf("left behind: %v", left)
	}
}

// A case of a newer version opens, whatever new keys it has, and nothing writes to it.
// Many programs that write to a case at the same time: what was not refused is in it.
func TestSave_AtOnce(t *testing.T) {
	f := newCase(t)
	const many = 20
	kept := make([]bool, many)
	var all sync.WaitGroup
	for i := range kept {
		all.Go(func() {
			g, err := Open(f.Dir())
			if err != nil {
				t.Error(err)
				return
			}
			defer func() { _ = g.Close() }()
			g.Case.Looks = append(g.Case.Looks, Look{At: noon, Kind: OtherLook, Note: strconv.Itoa(i)})
			if err = g.Save(); err != nil && !errors.Is(err, ErrMeantime) {
				t.Error(err)
			}
			kept[i] = err == nil
		})
	}
	all.Wait()
	g, err := Open(f.Dir())
	if err != nil {
		t.Fatal(err)
	}
	defer func() { _ = g.Close() }()
	for i, was := range kept {
		note := strconv.Itoa(i)
		if in := slices.ContainsFunc(g.Case.Looks, func(l Look) bool { return l.Note == note }); in != was {
			t.Errorf("note %d: kept %v, in the case %v", i, was, in)
		}
	}
	if len(g.Case.Looks) == 0 {
		t.Error("nobody could write")
	}
}

// What a crash left while case.toml was written blocks the case for a minute, not for ever.
func TestSave_AfterCrash(t *testing.T) {
	f := newCase(t)
	left := put(t, f.Path(turnName), nil)
	if err := f.Save(); !errors.Is(err, ErrMeantime) {
		t.Errorf("at once: %v", err)
	}
	long := time.Now().Add(-2 * time.Minute)
	if err := os.Chtimes(left, long, long); err != nil {
		t.Fatal(err)
	}
	if err := f.Save(); err != nil {
		t.Errorf("later: %v", err)
	}
	if _, err := os.Lstat(left); !errors.Is(err, fs.ErrNotExist) {
		t.Errorf("still there: %v", err)
	}
}

// The beginning of a file that a killed add left goes with the next add in a minute; before that it may
// still grow, and is named. Other hidden files stay.
func TestSweep(t *testing.T) {
	f := newCase(t)
	young, long := "drives/.new-ABCDEFGH", time.Now().Add(-2*time.Minute)
	put(t, f.Path(young), []byte("half"))
	put(t, f.Path("drives/.keep"), nil)
	old := []string{".new-ABCDEFGH", "photos/small/.new-ABCDEFGH", "drives/.new-OLD"}
	for _, name := range append(old, "drives/.keep") {
		put(t, f.Path(name), nil)
		if err := os.Chtimes(f.Path(name), long, long); err != nil {
			t.Fatal(err)
		}
	}
	removed, left, err := f.Sweep()
	if !slices.Equal(removed, old) || !slices.Equal(left, []string{young}) || err != nil {
		t.Errorf("removed %q, left %q, %v", removed, left, err)
	}
	for name, there := range map[string]bool{old[0]: false, old[1]: false, old[2]: false, young: true, "drives/.keep": true} {
		if _, err := os.Lstat(f.Path(name)); (err == nil) != there {
			t.Errorf("%s: %v", name, err)
		}
	}
}

// The key and the case.toml of a case are never taken, of this case or another, by their folder or by name.
func TestAdd_Own(t *testing.T) {
	f, other := newCase(t), newCase(t)
	for _, path := range []string{f.Path(keyName), f.Path(caseName), other.Path(keyName), other.Path(caseName), put(t, filepath.Join(t.TempDir(), "Car.Key"), nil), put(t, f.Path("papers/car.key"), []byte("x"))} {
		if _, _, err := f.Take(path, Adding{Now: noon}); !errors.Is(err, ErrOwn) {
			t.Errorf("%s: %v", path, err)
		}
	}
	if names, err := f.Unlisted(); len(f.Case.Files) != 0 || len(names) != 0 || err != nil {
		t.Errorf("%+v %q %v", f.Case.Files, names, err)
	}
}

// A drive that was made before the day of the repair is from before the work, whenever it is added, and
// so are the marks beside it. What says nothing of its time, or was made that day, is from after it.
func TestAdd_Stage(t *testing.T) {
	f := newCase(t)
	f.Case.Repairs = []Repair{{Rung: RungFluid, Done: noon.AddDate(0, 0, 3)}, {Rung: RungOther, Done: noon}}
	for name, c := range map[string]struct {
		start time.Time
		how   Stage
		want  Stage
	}{
		"the evening before": {noon.Add(-13 * time.Hour), "", Before},
		"in the morning":     {noon.Add(-11 * time.Hour), "", After},
		"later":              {noon.AddDate(0, 1, 0), "", After},
		"no time":            {time.Time{}, "", After},
		"said outright":      {noon.AddDate(0, -1, 0), After, After},
	} {
		path := filepath.Join(t.TempDir(), name+".jsonl")
		w, err := recording.Create(path, recording.Header{Start: c.start, Port: name})
		if err != nil {
			t.Fatal(err)
		}
		if err := w.Close(recording.WhyUser); err != nil {
			t.Fatal(err)
		}
		put(t, path+session.BesideEnd, []byte("{}\n"))
		row := mustAdd(t, f, path, Adding{Now: noon, Stage: c.how})
		if marks := f.Case.File(row.Name + session.BesideEnd); row.Stage != c.want || marks == nil || marks.Stage != c.want {
			t.Errorf("%s: %s, want %s; marks %+v", name, row.Stage, c.want, marks)
		}
	}
}

// A file whose row was refused is not copied twice.
func TestAdd_Again(t *testing.T) {
	f, from := newCase(t), put(t, filepath.Join(t.TempDir(), "offer.txt"), []byte("420 EUR"))
	mustAdd(t, f, from, Adding{Now: noon})
	f.Case.Files = nil // as after ErrMeantime
	if row, isNew, err := f.Add(from, Adding{Now: noon}); err != nil || !isNew || row.Name != "papers/offer.txt" {
		t.Errorf("%+v, new %v, %v", row, isNew, err)
	}
}

func TestOpen_Newer(t *testing.T) {
	f := newCase(t)
	text, err := os.ReadFile(f.Path(caseName))
	if err != nil {
		t.Fatal(err)
	}
	text = append([]byte("from_the_future = true\n"), bytes.Replace(text, []byte("version = 1"), []byte("version = 2"), 1)...)
	put(t, f.Path(caseName), text)
	g, err := Open(f.Dir())
	if err != nil {
		t.Fatal(err)
	}
	defer func() { _ = g.Close() }()
	if g.Case.Complaint.Speed != "60-70 km/h" {
		t.Errorf("%+v", g.Case)
	}
	photo := put(t, filepath.Join(t.TempDir(), "a.jpg"), photoOf(t, 8, 8))
	_, _, adding := g.Add(photo, Adding{Now: noon})
	for what, err := range map[string]error{"save": g.Save(), "add": adding} {
		if !errors.Is(err, ErrNewer) {
			t.Errorf("%s: %v", what, err)
		}
	}
	if now, _ := os.ReadFile(f.Path(caseName)); !bytes.Equal(now, text) {
		t.Error("a newer case was written to")
	}
}

// What cannot be understood is refused with its place, and names may not lead out of the folder.
func TestOpen_Faults(t *testing.T) {
	const file = "\n[[file]]\nname = %NAME\nkind = \"drive\"\nstage = \"before\"\nadded = 2026-11-29T12:00:00Z\nbytes = 1\nsha256 = \"" + "0000000000000000000000000000000000000000000000000000000000000000" + "\"\n"
	named := func(name string) string {
		return "version = 1\nopened = 2026-11-29T12:00:00Z\n" + strings.Replace(file, "%NAME", name, 1)
	}
	for _, tt := range []struct{ what, text, want string }{
		{"no version", "opened = 2026-11-29T12:00:00Z\n", "version is missing"},
		{"a misspelt key", "version = 1\nopened = 2026-11-29T12:00:00Z\n[car]\nnmae = \"x\"\n", "case.toml:4: there is no key \"car.nmae\""},
		{"a number for a text", "version = 1\nopened = 2026-11-29T12:00:00Z\n[car]\nname = 5\n", `case.toml:4: the value of "car.name" is of another kind`},
		{"a text for a version", "version = \"1\"\n", `case.toml:1: the value of "version" is of another kind`},
		{"no time", "version = 1\nopened = 5\n", "case.toml: a value cannot be read: "},
		{"not TOML", "version = 1\n= 2\n", "case.toml:2: "},
		{"up and out", named(`"drives/../../secret"`), "leads elsewhere"},
		{"up", named(`"../drives/a.jsonl"`), "leads elsewhere"},
		{"absolute", named(`"/drives/a.jsonl"`), "leads elsewhere"},
		{"other system's separators", named(`"drives/..\\..\\a.jsonl"`), "leads elsewhere"},
		{"a drive letter", named(`"C:/drives/a.jsonl"`), "leads elsewhere"},
		{"an escape for the terminal", named(`"drives/a\u001b[2J.jsonl"`), "leads elsewhere"},
		{"no folder for files", named(`"car.key"`), "leads elsewhere"},
		{"no such kind of look", "version = 1\nopened = 2026-11-29T12:00:00Z\n[[look]]\nat = 2026-11-29T12:00:00Z\nkind = \"blame\"\n", `kind "blame"`},
		{"a photo that is not there", "version = 1\nopened = 2026-11-29T12:00:00Z\n[[look]]\nat = 2026-11-29T12:00:00Z\nkind = \"leak\"\nphotos = [\"photos/no.jpg\"]\n", "no file of this case"},
		{"no such rung", "version = 1\nopened = 2026-11-29T12:00:00Z\n[[repair]]\nrung = \"magic\"\ndone = 2026-11-29T12:00:00Z\n", `rung "magic"`},
	} {
		dir := t.TempDir()
		put(t, filepath.Join(dir, caseName), []byte(tt.text))
		f, err := Open(dir)
		if err == nil {
			t.Errorf("%s: opened", tt.what)
			_ = f.Close()
			continue
		}
		if !strings.Contains(err.Error(), tt.want) || strings.Contains(err.Error(), "\x1b") {
			t.Errorf("%s: %q, want %q", tt.what, err, tt.want)
		}
	}
	for what, dir := range map[string]string{"no case": t.TempDir(), "no folder": filepath.Join(t.TempDir(), "none")} {
		if _, err := Open(dir); err == nil || !strings.Contains(err.Error(), "judder case new") {
			t.Errorf("%s: %v", what, err)
		}
	}
	if _, err := Open(put(t, filepath.Join(t.TempDir(), "a.txt"), []byte("a"))); err == nil || !strings.Contains(err.Error(), "is a file: give the folder of a case") {
		t.Error(err)
	}
	if _, err := New(newCase(t).Dir(), &Case{}); !errors.Is(err, ErrIsCase) {
		t.Errorf("a second case in one folder: %v", err)
	}
}

// What is no plain file is not taken, and a name cannot lead out of the folder or be hidden in it.
func TestAdd_Hostile(t *testing.T) {
	f := newCase(t)
	outside := t.TempDir()
	secret := put(t, filepath.Join(outside, "secret.txt"), []byte("secret"))
	link := filepath.Join(outside, "link.txt")
	if err := os.Symlink(secret, link); err != nil {
		t.Skip(err)
	}
	for path, want := range map[string]error{link: ErrLink, os.DevNull: ErrLink, outside: recording.ErrFolder, filepath.Join(outside, "absent"): fs.ErrNotExist} {
		var named *recording.FileError
		if _, _, err := f.Add(path, Adding{Now: noon}); !errors.Is(err, want) || !errors.Is(want, ErrLink) && !errors.As(err, &named) {
			t.Errorf("%s: %v", path, err)
		}
	}
	for name, want := range map[string]string{"a\x1b[2Jb.txt": "papers/a--2Jb.txt", "..txt": "papers/file.txt", ".hidden": "papers/file.hidden", "-rf": "papers/rf", "<b>.txt": "papers/b.txt",
		"con": "papers/file-con", "AUX.tar.txt": "papers/file-AUX.tar.txt", "lpt1.txt": "papers/file-lpt1.txt", "console.txt": "papers/console.txt", "dot.": "papers/dot", "COM¹.txt": "papers/COM.txt"} {
		row := mustAdd(t, f, put(t, filepath.Join(t.TempDir(), name), []byte(name)), Adding{Now: noon, Label: "<script>\x1b[2J\n"})
		if row.Name != want || row.Label != "<script> [2J" {
			t.Errorf("%q became %q, want %q; label %q", name, row.Name, want, row.Label)
		}
	}
	// links inside the folder that lead out of it
	if err := os.Symlink(secret, f.Path("papers/inside.txt")); err != nil {
		t.Fatal(err)
	}
	if _, _, err := f.Adopt("papers/inside.txt", Adding{Now: noon}); !errors.Is(err, ErrLink) {
		t.Errorf("a link in the folder: %v", err)
	}
	if names, err := f.Unlisted(); err != nil || len(names) != 0 {
		t.Errorf("unlisted %v %v", names, err)
	}
	if _, _, err := f.Adopt("../secret.txt", Adding{Now: noon}); err == nil {
		t.Error("adopted a file outside")
	}
	put(t, f.Path("drives/lost.jsonl"), []byte("{\"k\":\"header\"}\n"))
	if names, _ := f.Unlisted(); len(names) != 1 || names[0] != "drives/lost.jsonl" {
		t.Errorf("unlisted %v", names)
	}
	// a folder of the case that is a link to elsewhere
	if err := os.Symlink(outside, f.Path("photos")); err != nil {
		t.Fatal(err)
	}
	if _, _, err := f.Add(put(t, filepath.Join(t.TempDir(), "p.jpg"), photoOf(t, 8, 8)), Adding{Now: noon}); err == nil {
		t.Error("wrote through a link that leads out of the folder")
	}
	if err := f.Make("photos"); err == nil {
		t.Error("a recording would be written through a link that leads out of the folder")
	}
	if left, _ := os.ReadDir(outside); len(left) != 2 {
		t.Errorf("outside the folder there is now %v", left)
	}
}
