package session

import (
	"encoding/json"
	"fmt"

	"github.com/judder-obd/judder/pids"
	"github.com/judder-obd/judder/pids/vehicle"
	"github.com/judder-obd/judder/session/complaint"
	"github.com/judder-obd/judder/session/recording"
)

// profileKey is where the header of a recording keeps the text of the vehicle profile that
// the drive was recorded with, so that its readings are decoded the same way ever after.
const profileKey = "profile"

// askedKey is where the header of a recording has what was asked, when that was no drive.
const askedKey = "asked"

// ForCheck marks the header of a recording of the raw replies of a code check.
func ForCheck(h recording.Header) recording.Header {
	h.Extra = map[string]string{askedKey: "code check"}
	return h
}

// NoDriveError is the error for a recording that holds something else than a drive.
type NoDriveError struct {
	Path  string
	Asked string // what was asked, in words
}

// Error says what the file holds, and where to look.
func (e *NoDriveError) Error() string {
	return fmt.Sprintf("%s holds the raw replies of a %s, not a drive; its result is in the file that judder check made", e.Path, e.Asked)
}

// complaintKey is where the header of a recording has what the customer complains of, as
// [complaint.Parse] reads it.
const complaintKey = "complaint"

// complaintIn is the complaint that a recording carries; zero where there is none.
func complaintIn(h recording.Header) (complaint.Box, error) {
	text := h.Extra[complaintKey]
	if text == "" {
		return complaint.Box{}, nil
	}
	box, err := complaint.Parse(text)
	if err != nil {
		return box, fmt.Errorf("the complaint in it cannot be read: %w", err)
	}
	return box, nil
}

// noDrive is the error for a recording that holds something else.
func noDrive(h recording.Header, path string) error {
	if h.Extra[askedKey] == "" {
		return nil
	}
	return &NoDriveError{Path: path, Asked: h.Extra[askedKey]}
}

// IsDrive reports whether a file is the recording of a drive, as far as its first line says.
func IsDrive(path string) bool {
	r, err := recording.Open(path)
	if err != nil {
		return false
	}
	defer func() { _ = r.Close() }() // read only
	return noDrive(r.Header(), path) == nil
}

// WithProfile puts the text of a vehicle profile into the header of a recording.
func WithProfile(h recording.Header, text string) recording.Header {
	if text != "" {
		line, _ := json.Marshal(text) // a header holds lines, not texts of several; a string always encodes
		h.Extra = map[string]string{profileKey: string(line)}
	}
	return h
}

// Review reads a whole recording and returns what is in it, with the marks that were made at the bench.
// The error is that of a file that is no recording; a damaged one is reviewed all the same, and
// Result.Damage is what is missing.
func Review(path string) (Result, error) { return review(path, nil) }

// ReviewFor is Review for a complaint of one's own, whatever the recording has.
func ReviewFor(path string, box complaint.Box) (Result, error) { return review(path, &box) }

func review(path string, box *complaint.Box) (Result, error) {
	a, damage, err := through(path, func(*recording.Entry, []pids.Sample) {})
	if err != nil {
		return Result{}, err
	}
	if box != nil {
		a.passes.setBox(*box)
	}
	bench := openBeside(path)
	a.unread = bench.unread
	r := a.Result()
	r.Marks = allMarks(nil, r.Marks, bench.marks, r.Duration)
	f := a.upTo(a.end)
	f.settle(r.Marks)
	a.headline(&r)
	r.Damage = damage
	if bench.trouble != "" {
		r.Damage = join(r.Damage, bench.trouble)
	}
	return r, nil
}

// Readings are all readings of a recording in order of their arrival, and the analysis that
// decoded them, which knows their names and units.
func Readings(path string) (samples []pids.Sample, a *Analysis, damage string, err error) {
	a, damage, err = through(path, func(_ *recording.Entry, s []pids.Sample) {
		samples = append(samples, s...)
	})
	return samples, a, damage, err
}

// through takes every whole entry of a recording through an analysis, shows each to look
// with the readings it brought, and returns in words what is missing.
func through(path string, look func(*recording.Entry, []pids.Sample)) (a *Analysis, damage string, err error) {
	r, err := recording.Open(path)
	if err != nil {
		return nil, "", err
	}
	defer func() { _ = r.Close() }() // read only
	if err := noDrive(r.Header(), path); err != nil {
		return nil, "", err
	}
	profile, trouble := profileIn(r.Header(), path)
	a = NewAnalysis(profile)
	var e recording.Entry // one for all: look may keep a copy
	for r.Next() {
		e = r.Entry()
		look(&e, a.Take(&e))
	}
	if err := r.Err(); err != nil {
		return nil, "", err
	}
	a.Finish()
	a.header = r.Header()
	box, unread := complaintIn(a.header)
	a.passes.setBox(box)
	d := r.Damage()
	damage = d.String()
	if trouble != nil {
		damage = join(damage, trouble.Error())
	}
	if unread != nil {
		damage = join(damage, unread.Error())
	}
	return a, damage, nil
}

// profileIn is the vehicle profile that a recording carries; nil when there is none.
func profileIn(h recording.Header, path string) (*vehicle.Profile, error) {
	line := h.Extra[profileKey]
	if line == "" {
		return nil, nil
	}
	var text string
	err := json.Unmarshal([]byte(line), &text)
	if err != nil {
		return nil, fmt.Errorf("the vehicle profile in it cannot be read: %w", err)
	}
	profile, err := vehicle.ParseProfile(path, []byte(text))
	if err != nil {
		return nil, fmt.Errorf("the vehicle profile in it cannot be used: %w", err)
	}
	return profile, nil
}

func join(a, b string) string {
	if a == "" {
		return b
	}
	return a + "; " + b
}
