package report

import (
	"bytes"
	"encoding/hex"
	"encoding/xml"
	"errors"
	"flag"
	"io"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/judder-obd/judder/casefile"
	"github.com/judder-obd/judder/check"
	"github.com/judder-obd/judder/detect"
	"github.com/judder-obd/judder/pids/dtc"
	"github.com/judder-obd/judder/prose"
	"github.com/judder-obd/judder/session"
)

var update = flag.Bool("update", false, "write the papers of testdata again")

var noon = time.Date(2026, 11, 29, 12, 0, 0, 0, time.UTC)

// fixture is the made-up case of the fixtures, from intake to verified repair.
func fixture(t *testing.T) *casefile.Evidence {
	t.Helper()
	f, err := casefile.Open(filepath.Join("..", "..", "fixtures", "case"))
	if err != nil {
		t.Fatal(err)
	}
	defer func() { _ = f.Close() }()
	return f.Gather()
}

func options(stage casefile.Stage) Options {
	return Options{Stage: stage, Now: noon, Program: "judder test"}
}

// element is one element of a parsed page.
type element struct {
	name  string
	attrs map[string]string
	text  string // of its own, without that of elements in it
}

// parsed are the elements of a page, in order. Its reader is that of the standard library for XML,
// told what HTML leaves open.
func parsed(t *testing.T, html string) (list []element) {
	t.Helper()
	d := xml.NewDecoder(strings.NewReader(html))
	d.Strict, d.AutoClose, d.Entity = false, xml.HTMLAutoClose, xml.HTMLEntity
	var open []int
	for {
		token, err := d.Token()
		if errors.Is(err, io.EOF) {
			return list
		}
		if err != nil {
			t.Fatal(err)
		}
		switch x := token.(type) {
		case xml.StartElement:
			e := element{name: x.Name.Local, attrs: map[string]string{}}
			for _, a := range x.Attr {
				e.attrs[a.Name.Local] = a.Value
			}
			open = append(open, len(list))
			list = append(list, e)
		case xml.EndElement:
			open = open[:len(open)-1]
		case xml.CharData:
			if len(open) > 0 {
				list[open[len(open)-1]].text += string(x)
			}
		}
	}
}

func html(t *testing.T, p *Paper) string {
	t.Helper()
	var b bytes.Buffer
	if err := p.WriteHTML(&b); err != nil {
		t.Fatal(err)
	}
	return b.String()
}

func texts(list []element, name string) (out []string) {
	for _, e := range list {
		if e.name == name {
			out = append(out, strings.TrimSpace(e.text))
		}
	}
	return out
}

// The front page has its parts in the order in which they are asked for, and the file hashes come
// last.
func TestPaper_Order(t *testing.T) {
	e := fixture(t)
	for stage, want := range map[casefile.Stage]string{
		casefile.Before: "Complaint, in the customer's words|Answer|The clearest shudder|Passes with and without shudder|What speaks for and against, and what was not tested|What is asked for|Car, date, who|How to feel it yourself|" +
			"Every shudder|Trouble codes|The last code check in full|Where shudder could have been seen|What these readings cannot show|What was seen at the car|Repair ladder|Photos|Files",
		casefile.After: "Complaint, in the customer's words|Answer|Before and after, on the same axis|Passes with and without shudder|What speaks for and against, and what was not tested|What was done|Car, date, who|How to feel it yourself|" +
			"Every shudder|Trouble codes|Codes before and after|The last code check in full|Where shudder could have been seen|What these readings cannot show|Before and after, by passes|What was seen at the car|Repair ladder|Photos|Files",
	} {
		page := parsed(t, html(t, Make(e, options(stage))))
		if got := strings.Join(texts(page, "h2"), "|"); got != want {
			t.Errorf("%s the work:\n%s\nwant\n%s", stage, got, want)
		}
	}
}

// The papers of the made-up case for a phone call, as they are read out. 5 of 6 and 0 of 8 give
// p = 6/2002 = 0.0030 by Fisher's exact test: of the 2002 ways to choose 5 of 14 passes, 6 lie in the
// first six (by hand).
func TestPaper_Text(t *testing.T) {
	e := fixture(t)
	for stage, name := range map[casefile.Stage]string{casefile.Before: "before.txt", casefile.After: "done.txt"} {
		var b bytes.Buffer
		if err := Make(e, options(stage)).WriteText(&b); err != nil {
			t.Fatal(err)
		}
		if *update {
			if err := os.WriteFile(filepath.Join("testdata", name), b.Bytes(), 0o600); err != nil {
				t.Fatal(err)
			}
		}
		want, err := os.ReadFile(filepath.Join("testdata", name))
		if err != nil {
			t.Fatal(err)
		}
		if b.String() != string(want) {
			t.Errorf("%s:\n%s\nwant\n%s", name, b.String(), want)
		}
		lines := strings.Split(strings.TrimSuffix(b.String(), "\n"), "\n")
		if len(lines) > 20 || slices.ContainsFunc(lines, func(l string) bool { return prose.Cells(l) > 78 }) {
			t.Errorf("%s has %d lines, or one is too wide", name, len(lines))
		}
	}
	a := answerOf(e, casefile.After)
	if a.Kind != Gone || a.Pair.Chance < 0.00299 || a.Pair.Chance > 0.00300 {
		t.Errorf("%s, p = %.6f", a.Kind, a.Pair.Chance)
	}
}

// A page is one file: no script, nothing that is fetched, a policy that allows nothing else, every
// picture with words, and each id once.
func TestPaper_SelfContained(t *testing.T) {
	e := fixture(t)
	for _, stage := range []casefile.Stage{casefile.Before, casefile.After} {
		p := Make(e, options(stage))
		page := parsed(t, html(t, p))
		checkSafe(t, page)
		policy := ""
		for _, x := range page {
			if x.attrs["http-equiv"] == "Content-Security-Policy" {
				policy = x.attrs["content"]
			}
		}
		if !strings.HasPrefix(policy, "default-src 'none'; style-src 'sha256-") || strings.Contains(policy, "unsafe") {
			t.Errorf("policy %q", policy)
		}
		if n := len(texts(page, "img")); n != 2 {
			t.Errorf("%d photos, 2 are in the case", n)
		}
		for _, s := range slices.Concat(p.Front, p.Technical) {
			for _, pic := range s.Pictures {
				if bytes.Contains(pic.JPEG, []byte("made-up place")) || bytes.Contains(pic.JPEG, []byte("Exif")) {
					t.Error("a photo still has its place")
				}
			}
		}
	}
}

// allowed are the elements of a paper.
var allowed = strings.Fields("html head meta title style body main div h1 h2 section p dl dt dd span ul li figure figcaption img svg desc rect line text path circle table caption thead tbody tr th td pre")

func checkSafe(t *testing.T, page []element) {
	t.Helper()
	ids := map[string]bool{}
	for _, x := range page {
		if !slices.Contains(allowed, x.name) {
			t.Errorf("element %s", x.name)
		}
		for name, value := range x.attrs {
			switch {
			case strings.HasPrefix(name, "on"), name == "href", name == "style":
				t.Errorf("%s has %s=%q", x.name, name, value)
			case name == "src" && !strings.HasPrefix(value, "data:image/jpeg;base64,"):
				t.Errorf("%s fetches %q", x.name, value)
			case name == "id" && ids[value]:
				t.Errorf("id %s twice", value)
			case name == "id":
				ids[value] = true
			}
		}
		if x.name == "img" && x.attrs["alt"] == "" || x.name == "svg" && x.attrs["aria-labelledby"] == "" {
			t.Errorf("a picture without words: %v", x.attrs)
		}
		if strings.ContainsFunc(x.text, func(r rune) bool { return r != '\n' && prose.Steers(r) }) {
			t.Errorf("%s holds a control character: %q", x.name, x.text)
		}
	}
}

// Nothing that somebody wrote into a case becomes markup, fetches anything or steers a terminal.
func TestPaper_Hostile(t *testing.T) {
	const nasty = "</pre></style><script>alert(1)</script>\"'><img src=http://example.com/x onerror=y>\x1b[2J\u009b\u202e&amp;"
	e := fixture(t)
	c := &e.Case
	c.Complaint = casefile.Complaint{Words: nasty, Speed: nasty, Load: nasty, Engine: nasty, HowOften: nasty, Since: nasty, RecentWork: nasty}
	c.Car = casefile.Car{Name: nasty, VIN: nasty, By: nasty, OdometerKM: 1}
	c.Request = casefile.Request{Authorise: nasty, Estimate: nasty, Contract: nasty, Number: nasty}
	for i := range c.Looks {
		c.Looks[i].Place, c.Looks[i].Note = nasty, nasty
	}
	c.Repairs[0].Parts, c.Repairs[0].Note = nasty, nasty
	for i := range c.Files {
		c.Files[i].Label = nasty
	}
	e.Drives[0].Header.Adapter = nasty
	e.Drives[0].Result.Damage, e.Drives[0].Result.Verdict.Reason = nasty, nasty
	e.Drives[0].Result.Events[0].CannotTell = nasty
	e.Drives = append(e.Drives, casefile.DriveFile{File: &c.Files[0], Err: errors.New(nasty)})
	e.Checks[0].Report.ECUs[0].Name, e.Checks[0].Report.ECUs[0].Codes[0].Text = nasty, nasty
	e.Checks = append(e.Checks, casefile.CheckFile{File: &c.Files[0], Err: errors.New(nasty)})
	e.Hashes[0].Err = errors.New(nasty)
	o := options(casefile.After)
	o.Program = nasty
	for _, stage := range []casefile.Stage{casefile.Before, casefile.After} {
		o.Stage = stage
		p := Make(e, o)
		page := parsed(t, html(t, p))
		checkSafe(t, page)
		if !slices.Contains(texts(page, "p"), "“"+strings.NewReplacer("\x1b", "\uFFFD", "\u009b", "\uFFFD", "\u202e", "\uFFFD").Replace(nasty)+"”") {
			t.Errorf("the complaint is not shown as it was written: %q", texts(page, "p")[0])
		}
		var b bytes.Buffer
		if err := p.WriteText(&b); err != nil || strings.ContainsFunc(b.String(), func(r rune) bool { return r != '\n' && prose.Steers(r) }) {
			t.Errorf("%v %q", err, b.String())
		}
	}
}

// A number that a check or a recording has whole is in no paper, in letters or in hexadecimal, unless
// it is asked for.
func TestPaper_VIN(t *testing.T) {
	const vin = "0TEST11A0K0987651"
	e := fixture(t)
	e.Checks[0].Report.VIN = vin
	e.Checks[0].Report.ECUs[0].Codes[0].Snapshot = strings.ToUpper(hex.EncodeToString([]byte("0123456789" + vin))) // longer than what is printed of it
	e.Drives[0].Header.VIN = vin
	e.Case.Looks[0].Note = "plate under the windscreen: " + vin
	for _, stage := range []casefile.Stage{casefile.Before, casefile.After} {
		o := options(stage)
		page := html(t, Make(e, o))
		if strings.Contains(page, vin[11:]) || strings.Contains(page, strings.ToUpper(hex.EncodeToString([]byte(vin[11:13])))) || !strings.Contains(page, "0TEST11A0K0******") {
			t.Errorf("%s the work: the number shows, or its mask does not", stage)
		}
		o.VIN = true
		if page := html(t, Make(e, o)); !strings.Contains(page, vin) {
			t.Error("the number was asked for and is not shown")
		}
	}
}

// A paper of before the work is the same whenever it is made.
func TestPaper_BeforeStaysBefore(t *testing.T) {
	later := fixture(t)
	earlier := beforeWork(later)
	if a, b := html(t, Make(later, options(casefile.Before))), html(t, Make(earlier, options(casefile.Before))); a != b || strings.Contains(a, "2026-11-24") {
		t.Error("what came after the work changed the paper of before it")
	}
}

// An empty case makes both papers; they claim nothing.
func TestPaper_Empty(t *testing.T) {
	for _, stage := range []casefile.Stage{casefile.Before, casefile.After} {
		p := Make(&casefile.Evidence{}, options(stage))
		page := html(t, p)
		checkSafe(t, parsed(t, page))
		if !strings.Contains(page, "is part of this case yet") || !strings.Contains(page, "Whether codes are stored is not known") {
			t.Errorf("%s", page)
		}
	}
}

// drove is a drive with so many passes, the first of them with shudder, that could show swings from
// visible rpm on.
func drove(stage casefile.Stage, passes, shudders int, visible float64) casefile.DriveFile {
	d := casefile.DriveFile{File: &casefile.File{Name: "drives/a.jsonl", Kind: casefile.Drive, Stage: stage}}
	r := &d.Result
	r.Verdict = detect.Verdict{Finding: detect.CannotTell, Reason: "too few readings", SmallestRPM: visible}
	for i := range passes {
		p := session.Pass{Start: time.Duration(i) * time.Minute, End: time.Duration(i)*time.Minute + 12*time.Second, Judged: 12 * time.Second, SpeedKMH: 65, Shudder: i < shudders}
		r.Passes = append(r.Passes, p)
		if p.Shudder {
			r.Events = append(r.Events, detect.Event{Start: p.Start, End: p.End, SwingRPM: 100, SpeedKMH: 65})
		}
	}
	r.Need = session.Need{Judged: time.Duration(passes) * 12 * time.Second, Passes: passes, Shudders: shudders, More: max(session.EnoughPasses-passes, 0)}
	if shudders > 0 {
		r.Verdict.Finding = detect.Shudder
	} else if passes >= session.EnoughPasses {
		r.Verdict.Finding = detect.NoShudder
	}
	return d
}

func cannotTell(d casefile.DriveFile) casefile.DriveFile {
	d.Result.Verdict.Finding = detect.CannotTell
	return d
}

func slow(d casefile.DriveFile) casefile.DriveFile {
	d.Result.Rate = 5.4
	return d
}

func felt(d casefile.DriveFile) casefile.DriveFile {
	d.Result.Marks = []session.Mark{{At: time.Second, Outcome: session.NotSeen}}
	return d
}

// tapped is a drive in which brake taps stopped each shake.
func tapped(d casefile.DriveFile) casefile.DriveFile {
	d.Result.Headline.Rule, d.Result.Verdict.Finding = session.TapStopped, detect.CannotTell
	return d
}

// turned is a drive in which the engine turned at so many rpm.
func turned(d casefile.DriveFile, rpm float64) casefile.DriveFile {
	for i := range d.Result.Passes {
		d.Result.Passes[i].EngineRPM = rpm
	}
	return d
}

// of is a drive of a car.
func of(vin string, d casefile.DriveFile) casefile.DriveFile {
	d.Header.VIN, d.Result.Recorded.VIN = vin, vin
	return d
}

// on is a drive of a day of March.
func on(day int, d casefile.DriveFile) casefile.DriveFile {
	d.Result.Recorded.At = time.Date(2026, 3, day, 10, 0, 0, 0, time.UTC)
	d.Header.Start = d.Result.Recorded.At
	return d
}

// Numbers of two cars in the checks forbid to say gone as well; the drives then name none.
func TestAnswer_TwoCarsByChecks(t *testing.T) {
	e := fixture(t)
	e.Checks[1].Report.VINDigest = e.Checks[0].Report.VINDigest[:len(e.Checks[0].Report.VINDigest)-1] + "x"
	if a := answerOf(e, casefile.After); a.Kind != TwoCars {
		t.Errorf("%s: %s", a.Kind, a.Words())
	}
}

// The table of passes has engine speed: who reads the paper sees whether the drives were alike.
func TestPaper_EngineSpeed(t *testing.T) {
	e := fixture(t)
	for _, table := range Make(e, options(casefile.After)).Front[3].Tables {
		if i := slices.Index(table.Head, "Engine rpm"); i < 0 || !slices.ContainsFunc(table.Rows, func(row []string) bool { return strings.HasPrefix(row[i], "144") }) {
			t.Errorf("%+v", table)
		}
	}
}

// A paper claims no more than the drives show. What could show nothing says so, and "gone" needs
// chance below 5 %.
func TestAnswer(t *testing.T) {
	before, after := casefile.Before, casefile.After
	for _, c := range []struct {
		what   string
		stage  casefile.Stage
		drives []casefile.DriveFile
		want   AnswerKind
	}{
		{"nothing driven", before, nil, NoDrive},
		{"shudder", before, []casefile.DriveFile{drove(before, 6, 5, 40)}, Shown},
		{"quiet and enough", before, []casefile.DriveFile{drove(before, 4, 0, 40)}, NotShown},
		{"quiet and too little", before, []casefile.DriveFile{drove(before, 2, 0, 40)}, TooFew},
		{"no pass", before, []casefile.DriveFile{drove(before, 0, 0, 40)}, NeverMet},
		{"quiet, enough, and not to be cleared", before, []casefile.DriveFile{cannotTell(drove(before, 4, 0, 40))}, Unclear},
		{"quiet, and enough only with a drive that was too slow", before, []casefile.DriveFile{drove(before, 2, 0, 40), cannotTell(slow(drove(before, 9, 0, 40)))}, Unclear},
		{"quiet and enough in two short drives", before, []casefile.DriveFile{drove(before, 2, 0, 40), drove(before, 1, 0, 40)}, NotShown},
		{"felt and not seen", before, []casefile.DriveFile{felt(drove(before, 4, 0, 40))}, FeltOnly},
		{"felt and seen", before, []casefile.DriveFile{felt(drove(before, 4, 1, 40))}, Shown},
		{"could show nothing", before, []casefile.DriveFile{drove(before, 0, 0, 0)}, CouldNotShow},
		{"one drive is enough", before, []casefile.DriveFile{drove(before, 0, 0, 0), drove(before, 3, 2, 40)}, Shown},
		{"not driven after", after, []casefile.DriveFile{drove(before, 6, 5, 40)}, NoDrive},
		{"5 of 6 and 0 of 8", after, []casefile.DriveFile{drove(before, 6, 5, 40), drove(after, 8, 0, 40)}, Gone},
		{"3 of 3 and 0 of 3: one in twenty is not below", after, []casefile.DriveFile{drove(before, 3, 3, 40), drove(after, 3, 0, 40)}, NotProved},
		{"3 of 3 and 0 of 4", after, []casefile.DriveFile{drove(before, 3, 3, 40), drove(after, 4, 0, 40)}, Gone},
		{"once more after", after, []casefile.DriveFile{drove(before, 6, 5, 40), drove(after, 20, 1, 40)}, StillThere},
		{"blind after", after, []casefile.DriveFile{drove(before, 6, 5, 40), drove(after, 8, 0, 150)}, CouldNotShow},
		{"too slow after", after, []casefile.DriveFile{drove(before, 6, 5, 40), slow(drove(after, 8, 0, 40))}, CouldNotShow},
		{"not to be cleared after", after, []casefile.DriveFile{drove(before, 6, 5, 40), cannotTell(drove(after, 8, 0, 40))}, CouldNotShow},
		{"a blind drive beside a good one", after, []casefile.DriveFile{drove(before, 6, 5, 40), slow(drove(after, 8, 0, 40)), drove(after, 1, 0, 40)}, NotProved},
		{"felt after", after, []casefile.DriveFile{drove(before, 6, 5, 40), felt(drove(after, 8, 0, 40))}, StillFelt},
		{"brake taps after", after, []casefile.DriveFile{drove(before, 6, 5, 40), tapped(drove(after, 8, 0, 40))}, StillThere},
		{"another gear after", after, []casefile.DriveFile{turned(drove(before, 6, 5, 40), 1365), turned(drove(after, 8, 0, 40), 1820)}, NotAlike},
		{"another gear after, and felt", after, []casefile.DriveFile{turned(drove(before, 6, 5, 40), 1365), felt(turned(drove(after, 8, 0, 40), 1820))}, StillFelt},
		{"another car after", after, []casefile.DriveFile{of("0TEST11A0K0123459", drove(before, 6, 5, 40)), of("0OTHR22B0L0999999", drove(after, 8, 0, 40))}, TwoCars},
		{"an earlier drive after", after, []casefile.DriveFile{on(2, drove(before, 6, 5, 40)), on(1, drove(after, 8, 0, 40))}, Reversed},
		{"no pass after", after, []casefile.DriveFile{drove(before, 6, 5, 40), drove(after, 0, 0, 40)}, NeverMet},
		{"quiet on both sides", after, []casefile.DriveFile{drove(before, 6, 0, 40), drove(after, 8, 0, 40)}, NothingToBe},
	} {
		e := &casefile.Evidence{Drives: c.drives}
		a := answerOf(e, c.stage)
		if a.Kind != c.want {
			t.Errorf("%s: %s, want %s", c.what, a.Kind, c.want)
		}
		front := Make(e, options(c.stage)).Front
		if !slices.Contains(front[1].Text, a.Words()) || !front[1].Loud {
			t.Errorf("%s: the answer is not on the front page", c.what)
		}
		gone := strings.Contains(a.Words(), "If the work had changed nothing")
		if strings.Contains(a.Words(), " 0 times") {
			t.Errorf("%s: %s", c.what, a.Words())
		}
		if gone != (c.want == Gone) {
			t.Errorf("%s: %s", c.what, a.Words())
		}
	}
}

// The answer says at which speeds it was driven, where the complaint names none that judder can read, and
// where the complaint was not driven.
func TestAnswer_Driven(t *testing.T) {
	d := at(drove(casefile.Before, 4, 0, 40), 80, 30)
	for _, c := range []struct {
		said, want string
		in         bool
	}{
		{"when it feels like it", "No shudder was seen in 4 steady passes at a steady throttle, driven at 80 km/h", false},
		{"light", "at light load, driven at 80 km/h", true},
		{"around 110 km/h", "no steady pass at 105 to 115 km/h; driven were 80 km/h", false},
		{"75-85 km/h", "in 4 steady passes at 75 to 85 km/h;", true},
	} {
		for i := range d.Result.Passes {
			d.Result.Passes[i].InComplaint = c.in
		}
		a := answerOf(&casefile.Evidence{Case: casefile.Case{Complaint: casefile.Complaint{Speed: c.said}}, Drives: []casefile.DriveFile{d}}, casefile.Before)
		if !strings.Contains(a.Words(), c.want) {
			t.Errorf("%s: %s, want %q", c.said, a.Words(), c.want)
		}
	}
}

// A misfire code of a check of the case is in the ledger of its drives.
func TestCauses_CodesOfChecks(t *testing.T) {
	r := &check.Report{}
	ecu := r.ECU("7E8")
	ecu.Codes = []check.Code{{Code: "P0304", State: dtc.Stored}}
	e := &casefile.Evidence{Drives: []casefile.DriveFile{drove(casefile.Before, 3, 2, 40)}, Checks: []casefile.CheckFile{{File: &casefile.File{Stage: casefile.Before}, Report: r}}}
	w := &writer{e: e, o: options(casefile.Before), answer: answerOf(e, casefile.Before)}
	if x := w.weigh(); !slices.ContainsFunc(x.open, func(s string) bool { return strings.Contains(s, "P0304") && !strings.Contains(s, "0:00:00") }) {
		t.Errorf("%+v", x)
	}
}

// at is a drive at another road speed and load.
func at(d casefile.DriveFile, kmh, load float64) casefile.DriveFile {
	for i := range d.Result.Passes {
		d.Result.Passes[i].SpeedKMH, d.Result.Passes[i].LoadPct = kmh, load
	}
	for i := range d.Result.Events {
		d.Result.Events[i].SpeedKMH, d.Result.Events[i].LoadPct = kmh, load
	}
	return d
}

// Without a complaint the paper after the work counts passes at road speeds and loads that were driven on
// both sides, each for itself: quiet passes at another speed or load show nothing.
func TestAnswer_WithoutComplaint(t *testing.T) {
	before, after := casefile.Before, casefile.After
	shook := at(drove(before, 6, 5, 40), 65, 30)
	for _, c := range []struct {
		what   string
		drives []casefile.DriveFile
		want   AnswerKind
		passes int // after, that count
	}{
		{"at another speed", []casefile.DriveFile{shook, at(drove(after, 8, 0, 40), 100, 30)}, NeverMet, 0},
		{"at another load", []casefile.DriveFile{shook, at(drove(after, 8, 0, 40), 65, 60)}, NeverMet, 0},
		{"at the same", []casefile.DriveFile{shook, at(drove(after, 8, 0, 40), 65, 30)}, Gone, 8},
		{"mostly where it shook once", []casefile.DriveFile{shook, at(drove(before, 6, 1, 40), 105, 30), at(drove(after, 1, 0, 40), 65, 30), at(drove(after, 9, 0, 40), 105, 30)}, NotProved, 10},
		{"nothing driven before", []casefile.DriveFile{at(drove(after, 8, 0, 40), 65, 30)}, NothingToBe, 0},
		{"nothing driven before, and felt", []casefile.DriveFile{felt(at(drove(after, 8, 0, 40), 65, 30))}, StillFelt, 0},
	} {
		a := answerOf(&casefile.Evidence{Drives: c.drives}, after)
		if a.Kind != c.want || a.Pair.Table.AfterOf != c.passes {
			t.Errorf("%s: %s, want %s; %+v", c.what, a.Kind, c.want, a.Pair.Table)
		}
		if strings.Contains(a.Words(), "in 0 steady") {
			t.Errorf("%s: %s", c.what, a.Words())
		}
	}
	e := &casefile.Evidence{Drives: []casefile.DriveFile{shook, at(drove(after, 8, 0, 40), 65, 30)}}
	if !strings.Contains(html(t, Make(e, options(casefile.After))), "names no complaint") {
		t.Error("the paper does not say where its conditions come from")
	}
	// felt after the work: the drives may not say that it is gone
	e.Drives[1].Result.Marks = []session.Mark{{At: time.Second, Outcome: session.NotSeen}}
	if a := answerOf(e, casefile.After); a.Kind != StillFelt || !strings.Contains(a.Words(), "felt it once") {
		t.Errorf("%s: %s", a.Kind, a.Words())
	}
}
