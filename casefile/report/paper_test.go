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
	"github.com/judder-obd/judder/pids/dtc"
	"github.com/judder-obd/judder/prose"
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
