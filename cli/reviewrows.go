package cli

import (
	"math"
	"time"

	"github.com/judder-obd/judder/session"
	"github.com/judder-obd/judder/session/complaint"
)

// jsonVersion is the version of the JSON form of a review. It rises when a field changes its meaning
// or goes; new fields do not raise it.
const jsonVersion = 1

// passRow is a steady stretch of 8 s or more.
type passRow struct {
	Start       float64  `json:"start_s"`
	End         float64  `json:"end_s"`
	Judged      float64  `json:"judged_s"`
	Speed       *float64 `json:"speed_kmh,omitempty"`
	Load        *float64 `json:"load_pct,omitempty"`
	Throttle    *float64 `json:"throttle_pct,omitempty"`
	Coolant     *float64 `json:"coolant_c,omitempty"`
	Gear        int      `json:"gear,omitempty"`
	InComplaint bool     `json:"in_complaint"`
	Shudder     bool     `json:"shudder"`
}

// feltRow is one felt mark.
type feltRow struct {
	At       float64 `json:"at_s"`
	Lasted   float64 `json:"lasted_s"`
	Strength int     `json:"strength"`
	Blind    bool    `json:"blind"`
	Outcome  string  `json:"outcome"`
	Reason   string  `json:"reason,omitempty"` // where nothing could be seen
}

// blindRow is what marks made blind are worth.
type blindRow struct {
	Passes int      `json:"passes"`
	Judged float64  `json:"judged_s"`
	Marks  int      `json:"marks"`
	Hits   int      `json:"hits"`
	Share  float64  `json:"share"`
	Chance *float64 `json:"chance,omitempty"`
}

// needRow is what of the complaint was met and what is still needed.
type needRow struct {
	Judged   float64 `json:"judged_s"`
	Passes   int     `json:"passes"`
	Shudders int     `json:"shudder_passes"`
	More     int     `json:"more_passes_needed"`
	Enough   bool    `json:"enough"`
}

// loadRow is how long a band of road speed was judged, by load.
type loadRow struct {
	From    float64 `json:"from_kmh"`
	To      float64 `json:"to_kmh"`
	Light   float64 `json:"light_s"`
	Medium  float64 `json:"medium_s"`
	Heavy   float64 `json:"heavy_s"`
	Unknown float64 `json:"load_unknown_s"`
}

// codeRow is a trouble code that a code check inside the drive read.
type codeRow struct {
	At   float64 `json:"at_s"`
	ECU  string  `json:"ecu,omitempty"`
	Code string  `json:"code"`
}

// headlineRow is the finding of the whole drive.
type headlineRow struct {
	Rule   string `json:"rule"`
	Word   string `json:"word"`
	Reason string `json:"reason"`
}

// addDriven adds what was driven, complained of and felt.
func addDriven(out *report, r *session.Result) {
	out.Version, out.Program = jsonVersion, r.Recorded.Program
	if !r.Recorded.At.IsZero() {
		out.RecordedAt = r.Recorded.At.Format(time.RFC3339)
	}
	out.Headline = headlineRow{string(r.Headline.Rule), r.Headline.Word, r.Headline.Reason}
	out.Rate = some(r.Rate)
	if !r.Complaint.IsZero() {
		box := r.Complaint
		out.Complaint = &box
	}
	n := &r.Need
	out.Need = needRow{secs(n.Judged), n.Passes, n.Shudders, n.More, n.Enough()}
	out.Passes, out.Felt, out.ByLoad = []passRow{}, []feltRow{}, []loadRow{}
	for i := range r.Passes {
		p := &r.Passes[i]
		out.Passes = append(out.Passes, passRow{
			Start: secs(p.Start), End: secs(p.End), Judged: secs(p.Judged), Speed: known(p.SpeedKMH), Load: known(p.LoadPct),
			Throttle: known(p.ThrottlePct), Coolant: known(p.CoolantC), Gear: p.Gear, InComplaint: p.InComplaint, Shudder: p.Shudder,
		})
	}
	for i := range r.Marks {
		m := &r.Marks[i]
		if m.Note != "" {
			continue
		}
		row := feltRow{At: secs(m.At), Lasted: secs(m.Lasted), Strength: m.Strength, Blind: m.Blind, Outcome: m.Outcome.String()}
		if m.Outcome == session.NotJudged {
			row.Reason = m.Why.String()
		}
		out.Felt = append(out.Felt, row)
	}
	for _, row := range r.Cover.Rows {
		j := row.Judged
		out.ByLoad = append(out.ByLoad, loadRow{row.FromKMH, row.ToKMH, secs(j[session.CoverLight]), secs(j[session.CoverMedium]), secs(j[session.CoverHeavy]), secs(j[session.CoverUnknown])})
	}
	for _, c := range r.Codes {
		out.Codes = append(out.Codes, codeRow{secs(c.At), c.ECU, c.Code})
	}
	if b := &r.Blind; b.Passes > 0 {
		out.Blind = &blindRow{Passes: b.Passes, Judged: secs(b.Judged), Marks: b.Marks, Hits: b.Hits, Share: math.Round(b.Share*1e4) / 1e4}
		if !math.IsNaN(b.Chance) {
			out.Blind.Chance = &b.Chance
		}
	}
}

// complaintRow is the complaint, as it is kept.
type complaintRow = complaint.Box
