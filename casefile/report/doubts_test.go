package report

import (
	"errors"
	"strings"
	"testing"
	"time"

	"github.com/judder-obd/judder/casefile"
	"github.com/judder-obd/judder/check"
	"github.com/judder-obd/judder/session/complaint"
)

// Files of two cars, and a drive whose date lies on the other side of the repair, are said beside the
// answer and at the telephone.
func TestPaper_Doubts(t *testing.T) {
	for what, c := range map[string]struct {
		change func(*casefile.Evidence)
		want   string
	}{
		"as it is": {func(*casefile.Evidence) {}, ""},
		"two numbers": {func(e *casefile.Evidence) {
			e.Drives[0].Header.VIN, e.Drives[1].Header.VIN = "0TEST11A0K0987651", "0TEST22B0K0123456"
		}, "more than one identification number"},
		"another check": {func(e *casefile.Evidence) {
			e.Checks[1].Report.VINDigest = e.Checks[0].Report.VINDigest[:len(e.Checks[0].Report.VINDigest)-1] + "x"
		}, "more than one identification number"},
		"after, and dated before": {func(e *casefile.Evidence) { e.Drives[1].Header.Start = e.Drives[0].Header.Start }, "is before the repair"},
		"after, and earlier on the day of the repair": {func(e *casefile.Evidence) {
			e.Case.Repairs[0].Done = e.Drives[1].Header.Start.Add(9 * time.Hour)
		}, "before the repair was written down (2026-11-24 19:12)"},
		"after, on a day of repair without a time": {func(e *casefile.Evidence) {
			e.Case.Repairs[0].Done = e.Drives[1].Header.Start.Truncate(24 * time.Hour)
		}, ""},
		"a changed drive":              {func(e *casefile.Evidence) { hashOf(e, casefile.Drive).Now = strings.Repeat("0", 64) }, "is not as it was when it joined the case"},
		"marks not read":               {func(e *casefile.Evidence) { e.Drives[0].Result.MarksUnread = "the marks cannot be read" }, "cannot be read: the shake may have been felt more often"},
		"a complaint in part not read": {func(e *casefile.Evidence) { e.Case.Complaint.Load = "light, uphill" }, "Of the complaint “uphill” could not be read"},
		"a complaint in words alone": {func(e *casefile.Evidence) {
			e.Case.Complaint = casefile.Complaint{Words: "shakes uphill at 65 mph"}
			for i := range e.Drives {
				e.Drives[i].Result.Complaint = complaint.Box{}
			}
		}, "no speed, load or temperature that a drive was held against"},
		"a changed photo":         {func(e *casefile.Evidence) { hashOf(e, casefile.Photo).Now = strings.Repeat("0", 64) }, ""},
		"before, and dated after": {func(e *casefile.Evidence) { e.Drives[0].Header.Start = e.Drives[1].Header.Start.AddDate(0, 0, 2) }, "is after a repair"},
	} {
		e := fixture(t)
		c.change(e)
		p := Make(e, options(casefile.After))
		front, phone := strings.Join(p.Front[1].Text, "\n"), strings.Join(p.Phone, "\n")
		if has := strings.Contains(phone, "DOUBT"); has != (c.want != "") || !strings.Contains(front, c.want) {
			t.Errorf("%s: %s\n%s", what, front, phone)
		}
	}
}

// hashOf is the hash of the first file of a kind.
func hashOf(e *casefile.Evidence, kind casefile.Kind) *casefile.Hash {
	for i := range e.Hashes {
		if e.Hashes[i].File.Kind == kind {
			return &e.Hashes[i]
		}
	}
	return nil
}

// A drive that cannot be read is no road test that was never made.
func TestPaper_DriveNotRead(t *testing.T) {
	e := fixture(t)
	e.Drives[1].Err = errors.New("the file is gone")
	if a := answerOf(e, casefile.After); a.Kind != NoDrive || !strings.Contains(a.Words(), "No road test after the work can be read") {
		t.Errorf("%s: %s", a.Kind, a.Words())
	}
	e.Drives = e.Drives[:1]
	if a := answerOf(e, casefile.After); a.Kind != NoDrive || !strings.Contains(a.Words(), "No road test after the work is part of this case yet") {
		t.Errorf("%s: %s", a.Kind, a.Words())
	}
}

// A check in which a list of codes could not be read, or nobody answered, clears nothing of codes.
func TestPaper_CodesNotRead(t *testing.T) {
	for what, change := range map[string]func(*check.Report){
		"refused": func(r *check.Report) { r.ECUs[0].Lists[check.ListStored] = check.RefusedWith(0x22) },
		"silent":  func(r *check.Report) { r.ECUs = nil },
		"stopped": func(r *check.Report) { r.BrokeOff = &check.Note{} },
	} {
		e := fixture(t)
		change(e.Checks[1].Report)
		if p := strings.Join(Make(e, options(casefile.After)).Phone, "\n"); strings.Contains(p, "none stored") || !strings.Contains(p, "not all codes could be read") {
			t.Errorf("%s: %s", what, p)
		}
		before := fixture(t)
		before.Checks[0].Report.ECUs[0].Codes = nil
		w := &writer{e: before, o: options(casefile.Before), answer: answerOf(before, casefile.Before)}
		all := strings.Join(w.weigh().against, "\n")
		change(before.Checks[0].Report)
		if some := strings.Join(w.weigh().against, "\n"); !strings.Contains(all, "no misfire code") || strings.Contains(some, "no misfire code") {
			t.Errorf("%s: against %s, before it %s", what, some, all)
		}
	}
}

// A copy of a drive, such as one that was cut, does not make its passes count twice.
func TestPaper_Copies(t *testing.T) {
	e := fixture(t)
	whole := Make(e, options(casefile.Before))
	cut := e.Drives[0]
	cut.File = &casefile.File{Name: "drives/cut.jsonl", Kind: casefile.Drive, Stage: casefile.Before}
	cut.Result.Duration -= time.Second
	e.Drives = append([]casefile.DriveFile{cut}, append(e.Drives, e.Drives[0])...)
	twice := Make(e, options(casefile.Before))
	if whole.Front[1].Text[0] != twice.Front[1].Text[0] || !strings.Contains(strings.Join(twice.Front[1].Text, "\n"), "drives/cut.jsonl counts for nothing here: it began at the same moment") {
		t.Errorf("%q, want %q", twice.Front[1].Text, whole.Front[1].Text)
	}
}
