package cli

import (
	"fmt"
	"strings"

	"github.com/judder-obd/judder/detect/cause"
	"github.com/judder-obd/judder/detect/steps"
	"github.com/judder-obd/judder/session"
)

// stepsReport is the part of the JSON form about steps and causes.
type stepsReport struct {
	Steps       []stepRow      `json:"steps"`
	Contrasts   []contrastRow  `json:"contrasts"`
	Counts      *countsRow     `json:"misfire_counts,omitempty"`
	Causes      []ledgerRow    `json:"causes"`
	Next        string         `json:"next_test,omitempty"`
	Frequencies []frequencyRow `json:"frequencies,omitempty"`
}

func stepsReportOf(r *session.Result) stepsReport {
	l := session.LedgerOf(r)
	return stepsReport{stepRows(r), contrastRows(r), countsOf(r), ledgerRows(&l), l.Next.String(), frequencyRows(&l)}
}

// stepRow is a step that separates one cause of a shake from another.
type stepRow struct {
	Kind    string   `json:"kind"`
	Start   float64  `json:"start_s"`
	End     float64  `json:"end_s"`
	RPMStep float64  `json:"rpm_step"`
	Before  *float64 `json:"swing_before_rpm,omitempty"`
	After   *float64 `json:"swing_after_rpm,omitempty"`
	Stopped *float64 `json:"stopped_within_s,omitempty"` // absent where the swing did not stop, or there was none
	Speed   *float64 `json:"speed_kmh,omitempty"`
	Gear    int      `json:"gear,omitempty"` // reported
	Armed   bool     `json:"armed"`
	Invalid string   `json:"not_valid,omitempty"`
}

// contrastRow compares shakes with and without a step.
type contrastRow struct {
	Kind    string  `json:"kind"`
	With    int     `json:"with"`
	Stopped int     `json:"with_stopped"`
	Within  float64 `json:"stopped_within_s"`
	Without int     `json:"without"`
	WentOn  int     `json:"without_went_on"`
	For     float64 `json:"went_on_for_s"`
}

// countsRow are the misfire counts of service 06.
type countsRow struct {
	Read  bool      `json:"read"`
	Rises []riseRow `json:"rises"`
	Quiet int       `json:"shudders_without_a_rise"`
}

type riseRow struct {
	From     float64  `json:"from_s"`
	To       float64  `json:"to_s"`
	Cylinder int      `json:"cylinder"`
	By       int      `json:"by"`
	Shudder  *float64 `json:"shudder_start_s,omitempty"` // the shudder between the two readings
}

// ledgerRow is what speaks for and against a cause, and what was not tested.
type ledgerRow struct {
	Cause    string    `json:"cause"`
	For      []lineRow `json:"for"`
	Against  []lineRow `json:"against"`
	Untested []lineRow `json:"not_tested"`
}

type lineRow struct {
	Rule  string    `json:"rule"`
	Words string    `json:"words"`
	At    []float64 `json:"at_s,omitempty"`
}

// frequencyRow is how fast a shudder swung, beside what else turns at that speed.
type frequencyRow struct {
	At       float64  `json:"shudder_start_s"`
	Hz       float64  `json:"hz"`
	TyreLow  float64  `json:"tyre_low_hz"`
	TyreHigh float64  `json:"tyre_high_hz"`
	Shaft    *float64 `json:"propshaft_hz,omitempty"`
	Half     *float64 `json:"half_engine_order_hz,omitempty"`
}

func stepRows(r *session.Result) []stepRow {
	rows := []stepRow{}
	for i := range r.Steps {
		s := &r.Steps[i]
		row := stepRow{
			Kind: s.Kind.String(), Start: secs(s.Start), End: secs(s.End), RPMStep: tenth(s.RPMStep), Before: known(s.BeforeRPM), After: known(s.AfterRPM),
			Speed: known(s.SpeedKMH), Gear: s.Gear, Armed: s.Armed, Invalid: s.Fault.Words(),
		}
		if s.Calmed() {
			within := secs(s.Stopped)
			row.Stopped = &within
		}
		rows = append(rows, row)
	}
	return rows
}

func contrastRows(r *session.Result) []contrastRow {
	rows := []contrastRow{}
	for _, c := range r.Contrasts {
		rows = append(rows, contrastRow{c.Kind.String(), c.With, c.Stopped, secs(c.Within), c.Without, c.WentOn, secs(c.For)})
	}
	return rows
}

func countsOf(r *session.Result) *countsRow {
	m := &r.Misfire
	if !m.Read {
		return nil
	}
	row := &countsRow{Read: true, Rises: []riseRow{}, Quiet: m.Quiet}
	for _, x := range m.Rises {
		rise := riseRow{From: secs(x.From), To: secs(x.To), Cylinder: x.Cylinder, By: x.By}
		if x.Event >= 0 {
			at := secs(r.Events[x.Event].Start)
			rise.Shudder = &at
		}
		row.Rises = append(row.Rises, rise)
	}
	return row
}

func ledgerRows(l *cause.Ledger) []ledgerRow {
	rows := []ledgerRow{}
	for c := range cause.Cause(cause.CauseCount) {
		rows = append(rows, ledgerRow{c.String(), lineRows(l, c, cause.For), lineRows(l, c, cause.Against), lineRows(l, c, cause.Untested)})
	}
	return rows
}

func lineRows(l *cause.Ledger, c cause.Cause, side cause.Side) []lineRow {
	rows := []lineRow{}
	for _, x := range l.Of(c, side) {
		row := lineRow{Rule: x.Rule.String(), Words: x.Words()}
		for _, at := range x.At {
			row.At = append(row.At, secs(at))
		}
		rows = append(rows, row)
	}
	return rows
}

func frequencyRows(l *cause.Ledger) (rows []frequencyRow) {
	for _, x := range l.Frequencies {
		rows = append(rows, frequencyRow{secs(x.At), tenth(x.Hz), tenth(x.TyreLowHz), tenth(x.TyreHighHz), some(x.ShaftHz), some(x.HalfHz)})
	}
	return rows
}

// stepWords are a step for a person.
func stepWords(s *steps.Step) string {
	words := fmt.Sprintf("%s, engine speed %+.0f rpm", s.Kind, s.RPMStep)
	switch {
	case s.Calmed():
		words += fmt.Sprintf("; swing %.0f to %.0f rpm, stopped within %.1f s", s.BeforeRPM, s.AfterRPM, s.Stopped.Seconds())
	case s.Shook() && s.AfterRPM == s.AfterRPM: // measured
		words += fmt.Sprintf("; swing %.0f rpm, went on with %.0f rpm", s.BeforeRPM, s.AfterRPM)
	}
	if s.Fault != steps.Valid {
		words += "; not counted: " + s.Fault.Words()
	}
	return words
}

// telling reports whether a step is worth a line: it was announced, or engine speed swung before it.
func telling(s *steps.Step) bool { return s.Armed || s.Shook() && s.Fault == steps.Valid }

// contrastWords are what the releases of the clutch showed; "" where none was made in a shake.
func contrastWords(r *session.Result) string {
	for i := range r.Contrasts {
		if c := &r.Contrasts[i]; c.Kind == steps.ClutchRelease {
			return c.Words()
		}
	}
	return ""
}

// writeSteps prints how many steps have no line of their own, and the frequencies side by side.
func writeSteps(b *strings.Builder, r *session.Result) {
	var others [steps.KindCount]int
	for i := range r.Steps {
		if s := &r.Steps[i]; !telling(s) {
			others[s.Kind]++
		}
	}
	var list []string
	for k, n := range others {
		if n > 0 {
			list = append(list, fmt.Sprintf("%s %d×", steps.Kind(k), n))
		}
	}
	if len(list) > 0 {
		fmt.Fprintf(b, "\n  steps with no swing before them: %s\n", strings.Join(list, ", "))
	}
	l := session.LedgerOf(r)
	if len(l.Frequencies) > 0 {
		b.WriteString("\n  frequencies:\n")
	}
	for i := range l.Frequencies {
		fmt.Fprintf(b, "    %s\n", l.Frequencies[i].Words())
	}
}

// riseWords are how the misfire counts rose in a shudder; "" where none did.
func riseWords(r *session.Result, event int) string {
	var list []string
	for _, x := range r.Misfire.Rises {
		if x.Event == event {
			list = append(list, fmt.Sprintf("cylinder %d rose by %d", x.Cylinder, x.By))
		}
	}
	if len(list) == 0 {
		return ""
	}
	return "misfire counts: " + strings.Join(list, ", ")
}
