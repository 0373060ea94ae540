package report

import (
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/judder-obd/judder/casefile"
	"github.com/judder-obd/judder/detect"
	"github.com/judder-obd/judder/session"
)

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

// torn is a drive whose marks cannot be read.
func torn(d casefile.DriveFile) casefile.DriveFile {
	d.Result.MarksUnread, d.Result.Verdict.Reason = "the marks cannot be read", "the marks cannot be read"
	d.Result.Verdict.Finding = detect.CannotTell
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
		{"quiet, and the marks not read", before, []casefile.DriveFile{torn(drove(before, 4, 0, 40))}, Unclear},
		{"quiet after, and the marks not read", after, []casefile.DriveFile{drove(before, 6, 5, 40), torn(drove(after, 8, 0, 40))}, CouldNotShow},
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
