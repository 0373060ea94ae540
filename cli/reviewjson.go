package cli

import (
	"fmt"
	"math"
	"time"

	"github.com/judder-obd/judder/detect"
	"github.com/judder-obd/judder/session"
)

// report is the JSON form of a result.
type report struct {
	Version      int           `json:"version"`
	File         string        `json:"file,omitempty"`
	RecordedAt   string        `json:"recorded_at,omitempty"` // RFC 3339
	Program      string        `json:"program,omitempty"`
	Duration     float64       `json:"duration_s"`
	Testable     float64       `json:"testable_s"`
	Verdict      string        `json:"verdict"`
	Reason       string        `json:"reason,omitempty"`
	Headline     headlineRow   `json:"headline"`
	Rate         *float64      `json:"readings_per_s,omitempty"` // of engine speed
	Complaint    *complaintRow `json:"complaint,omitempty"`
	Need         needRow       `json:"need"`
	Passes       []passRow     `json:"passes"`
	Felt         []feltRow     `json:"felt"`
	Blind        *blindRow     `json:"blind,omitempty"`
	SmallestRPM  *float64      `json:"smallest_swing_rpm,omitempty"`
	Shudder      []shudderRow  `json:"shudder"`
	EngineStops  []spanRow     `json:"engine_stops"`
	LinkLosses   []lossRow     `json:"link_losses"`
	CodeChecks   []checkRow    `json:"code_checks,omitempty"`
	Observations []spanRow     `json:"observations"`
	Slip         []slipRow     `json:"slip,omitempty"`
	Apparent     *apparentRow  `json:"apparent_slip,omitempty"`
	Masks        []maskRow     `json:"masks"`
	Coverage     []bandRow     `json:"coverage"`
	ByLoad       []loadRow     `json:"coverage_by_load"`
	Codes        []codeRow     `json:"codes,omitempty"`    // of a code check inside the drive
	NotRead      []missingRow  `json:"not_read,omitempty"` // parameters of the vehicle profile
	Marks        []markRow     `json:"marks,omitempty"`
	Damage       string        `json:"damage,omitempty"`
	stepsReport
}

type shudderRow struct {
	Number     int       `json:"number"` // from 1, as in judder picture --event
	Start      float64   `json:"start_s"`
	End        float64   `json:"end_s"`
	Swing      float64   `json:"swing_rpm"`
	Hz         []float64 `json:"frequency_hz,omitempty"`
	Regular    bool      `json:"regular"`
	Readings   int       `json:"readings"`
	Limit      *float64  `json:"limit_rpm,omitempty"`
	Floor      *float64  `json:"floor_rpm,omitempty"`
	Speed      *float64  `json:"speed_kmh,omitempty"`
	Load       *float64  `json:"load_pct,omitempty"`
	Throttle   *float64  `json:"throttle_pct,omitempty"`
	Coolant    *float64  `json:"coolant_c,omitempty"`
	CannotTell string    `json:"cannot_be_told_from,omitempty"`
}

type spanRow struct {
	Start float64 `json:"start_s"`
	End   float64 `json:"end_s"`
	Kind  string  `json:"kind"`
}

// lossRow is a time in which the link was lost.
type lossRow struct {
	Start    float64 `json:"start_s"`
	End      float64 `json:"end_s"`
	Cause    string  `json:"cause"`
	Code     string  `json:"cause_code,omitempty"` // as in a recording; absent when it is not known
	Recorded string  `json:"recorded"`             // the words of the recording
}

// checkRow is a code check inside the drive.
type checkRow struct {
	Start float64 `json:"start_s"`
	End   float64 `json:"end_s"`
	Broke bool    `json:"broke_off,omitempty"`
	Kept  string  `json:"kept,omitempty"` // file with the result
}

// slipRow is a time in which converter slip swung while it should have been steady.
type slipRow struct {
	Start    float64  `json:"start_s"`
	End      float64  `json:"end_s"`
	Swing    float64  `json:"swing_rpm"`
	Mean     float64  `json:"mean_rpm"`
	Wanted   *float64 `json:"wanted_rpm,omitempty"`
	Readings int      `json:"readings"`
	Apparent *float64 `json:"apparent_plus_minus_rpm,omitempty"` // estimated from gear and road speed, not read
}

// apparentRow is estimated slip: engine speed against the ratios that the car held with its clutch
// locked.
type apparentRow struct {
	Locked []lockedRow  `json:"locked_ratios"`
	Sharp  []stretchRow `json:"sharper_than_uncertainty"`
}

type lockedRow struct {
	RPMPerKMH float64 `json:"rpm_per_kmh"`
	Held      float64 `json:"held_s"`
}

type stretchRow struct {
	Start     float64 `json:"start_s"`
	End       float64 `json:"end_s"`
	Mean      float64 `json:"mean_rpm"`
	High      float64 `json:"highest_rpm"`
	PlusMinus float64 `json:"plus_minus_rpm"`
	GearKnown bool    `json:"gear_known"`
}

// bandRow is how long one band of road speed was usable, and the smallest swing that would have shown.
type bandRow struct {
	From     float64  `json:"from_kmh"`
	To       float64  `json:"to_kmh"`
	Judged   float64  `json:"judged_s"`
	Smallest *float64 `json:"smallest_swing_rpm,omitempty"`
}

// maskRow is how much of the drive was usable, or not usable for one reason.
type maskRow struct {
	Reason  string  `json:"reason"`
	Seconds float64 `json:"seconds"`
	words   string  // for a person
	length  time.Duration
}

// missingRow is a parameter that the vehicle profile names and the car did not give.
type missingRow struct {
	Signal     string  `json:"signal"`
	Module     string  `json:"module"`
	Identifier string  `json:"identifier"`
	Asked      int     `json:"asked"`
	Since      float64 `json:"since_s"`
	Why        string  `json:"why"`
	Refusal    string  `json:"refusal,omitempty"` // negative response code, hexadecimal
}

type markRow struct {
	At   float64 `json:"at_s"`
	Note string  `json:"note,omitempty"`
}

func reportOf(file string, r *session.Result) report {
	out := report{
		File: file, Duration: secs(r.Duration), Testable: secs(r.Verdict.Testable),
		Verdict: r.Verdict.Finding.String(), Reason: r.Verdict.Reason, SmallestRPM: some(r.Verdict.SmallestRPM),
		Shudder: []shudderRow{}, EngineStops: []spanRow{}, LinkLosses: []lossRow{}, Observations: []spanRow{}, Masks: masks(r), Coverage: []bandRow{}, Damage: r.Damage,
	}
	for _, c := range r.Coverage {
		if c.Judged > 0 {
			out.Coverage = append(out.Coverage, bandRow{c.FromKMH, c.ToKMH, secs(c.Judged), some(c.SmallestRPM)})
		}
	}
	addDriven(&out, r)
	for i, ev := range r.Events {
		out.Shudder = append(out.Shudder, shudderRow{
			Number: i + 1, Start: secs(ev.Start), End: secs(ev.End), Swing: tenth(ev.SwingRPM), Hz: tenths(ev.Hz), Regular: ev.Regular,
			Readings: ev.Readings, Limit: some(ev.LimitRPM), Floor: some(ev.FloorRPM), Speed: known(ev.SpeedKMH),
			Load: known(ev.LoadPct), Throttle: known(ev.ThrottlePct), Coolant: known(ev.CoolantC), CannotTell: ev.CannotTell,
		})
	}
	for _, s := range r.Stops {
		out.EngineStops = append(out.EngineStops, spanRow{secs(s.Start), secs(s.End), s.Kind.String()})
	}
	for _, l := range r.Losses {
		out.LinkLosses = append(out.LinkLosses, lossRow{secs(l.Start), secs(l.End), l.Words(), l.Reason.Cause.String(), l.Reason.Text})
	}
	for _, c := range r.Checks {
		out.CodeChecks = append(out.CodeChecks, checkRow{secs(c.Start), secs(c.End), c.Broke, c.Kept})
	}
	for _, o := range r.Observations {
		out.Observations = append(out.Observations, spanRow{secs(o.Start), secs(o.End), o.Kind.String()})
	}
	for _, w := range r.Slip {
		out.Slip = append(out.Slip, slipRow{secs(w.Start), secs(w.End), tenth(w.SwingRPM), tenth(w.MeanRPM), known(w.WantedRPM), w.Readings, some(w.ApparentRPM)})
	}
	out.Apparent = apparentOf(r)
	for _, u := range r.Missing {
		out.NotRead = append(out.NotRead, missingOf(&u))
	}
	for _, m := range r.Marks {
		out.Marks = append(out.Marks, markRow{secs(m.At), m.Note})
	}
	out.stepsReport = stepsReportOf(r)
	return out
}

func missingOf(u *session.Missing) missingRow {
	why, _ := u.Words()
	row := missingRow{Signal: string(u.Signal), Module: u.Module, Identifier: fmt.Sprintf("%04X", u.Identifier), Asked: u.Asked, Since: secs(u.Since), Why: why}
	if u.Refusal != 0 {
		row.Refusal = fmt.Sprintf("%02X", u.Refusal)
	}
	return row
}

func apparentOf(r *session.Result) *apparentRow {
	if len(r.Locked)+len(r.Apparent) == 0 {
		return nil
	}
	row := &apparentRow{[]lockedRow{}, []stretchRow{}}
	for _, l := range r.Locked {
		row.Locked = append(row.Locked, lockedRow{math.Round(l.RPMPerKMH*100) / 100, secs(l.Held)})
	}
	for _, a := range r.Apparent {
		row.Sharp = append(row.Sharp, stretchRow{secs(a.Start), secs(a.End), tenth(a.MeanRPM), tenth(a.HighRPM), tenth(a.PlusMinusRPM), a.GearKnown})
	}
	return row
}

// masks adds up the drive by reason, in the order of the reasons. A gap in the readings counts as a
// code check when one took most of it.
func masks(r *session.Result) []maskRow {
	var sum [detect.ReasonCount]time.Duration
	var checked time.Duration
	for _, s := range r.Spans {
		d := s.End - s.Start
		if s.Reason == detect.LinkGap && 2*session.Within(s.Start, s.End, r.Checks) > d {
			checked += d
			continue
		}
		sum[s.Reason] += d
	}
	rows := []maskRow{}
	for reason, d := range sum {
		if d > 0 {
			rows = append(rows, maskRow{detect.Reason(reason).String(), secs(d), detect.Reason(reason).Words(), d})
		}
	}
	if checked > 0 {
		rows = append(rows, maskRow{"standing check", secs(checked), "code check", checked})
	}
	return rows
}

func secs(d time.Duration) float64 { return math.Round(d.Seconds()*1000) / 1000 }

func tenth(x float64) float64 { return math.Round(x*10) / 10 }

func tenths(xs []float64) []float64 {
	out := make([]float64, len(xs))
	for i, x := range xs {
		out[i] = tenth(x)
	}
	return out
}

// known is a number for JSON, absent when it is not known. Zero is a value: coolant at 0 °C, a car that
// stands.
func known(x float64) *float64 {
	if math.IsNaN(x) || math.IsInf(x, 0) {
		return nil
	}
	x = tenth(x)
	return &x
}

// some is known for a figure that is 0 where there is none.
func some(x float64) *float64 {
	if x == 0 {
		return nil
	}
	return known(x)
}
