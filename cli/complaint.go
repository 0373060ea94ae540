package cli

import (
	"github.com/judder-obd/judder/session"
	"github.com/judder-obd/judder/session/complaint"
)

// complaintFlag is what the customer complains of.
type complaintFlag struct {
	Complaint string        `placeholder:"TEXT" help:"What the customer complains of, such as \"60-70 km/h light warm\": speed, load (light, medium, heavy), cold or warm, gear 4."`
	box       complaint.Box // once check has read it
}

func (f *complaintFlag) given() bool { return f.Complaint != "" }

func (f *complaintFlag) check() (err error) {
	if !f.given() {
		return nil
	}
	if f.box, err = complaint.Parse(f.Complaint); err != nil {
		return usageError("--complaint: " + err.Error())
	}
	return nil
}

// review reviews a recording, for the complaint that was given, else for the recording's own.
func (f *complaintFlag) review(path string) (session.Result, error) {
	if f.given() {
		return session.ReviewFor(path, f.box)
	}
	return session.Review(path)
}
