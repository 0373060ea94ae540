package cli

import (
	"fmt"
	"io"
	"path/filepath"
	"strings"

	"github.com/judder-obd/judder/prose"
	"github.com/judder-obd/judder/session"
	"github.com/judder-obd/judder/session/complaint"
)

// drives compares two drives, one before a repair and one after it.
func (c *compareCommand) drives(e *env) error {
	before, err := session.Review(c.Before)
	if err != nil {
		return err
	}
	after, err := session.Review(c.After)
	if err != nil {
		return err
	}
	for _, d := range []struct{ file, damage string }{{c.Before, before.Damage}, {c.After, after.Damage}} {
		if d.damage != "" {
			e.say("%s: %s", d.file, d.damage)
		}
	}
	first, second := driveOf{c.Before, &before}, driveOf{c.After, &after}
	p := session.Compare([]*session.Result{&before}, []*session.Result{&after}, c.box)
	doubt, err := doubtOf(&first, &second, p.Finding)
	if err != nil {
		return err
	}
	if c.JSON {
		return writeJSON(e.out, pairOfDrives(c.Before, c.After, doubt, &p))
	}
	return e.page(func(w io.Writer) error {
		_, err := io.WriteString(w, pairText(&first, &second, doubt, &p))
		return err
	})
}

// driveOf is a drive and its file.
type driveOf struct {
	file   string
	result *session.Result
}

func (d *driveOf) words() string {
	parts := []string{filepath.Base(d.file)}
	if at := d.result.Recorded.At; !at.IsZero() {
		parts = append(parts, at.Format("2 Jan 2006 15:04"))
	}
	parts = append(parts, "usable "+prose.Duration(d.result.Verdict.Testable), fmt.Sprintf("%.0f readings a second", d.result.Rate))
	return strings.Join(parts, ", ")
}

// pairWords are the findings, for people: a word in capitals and what it means.
var pairWords = [...]struct{ word, means string }{
	session.NothingToCompare: {"NOTHING TO COMPARE", "the drives have no passes in the same conditions; drive at the same speeds and loads after the repair as before it"},
	session.NothingBefore:    {"NO SHUDDER BEFORE", "the drive before does not show it in these conditions: nothing can be said of the repair"},
	session.StillThere:       {"STILL THERE", "shudder was seen after the repair"},
	session.StillFelt:        {"STILL FELT", "no shudder was seen after the repair, and the shake was felt"},
	session.TooBlunt:         {"CANNOT TELL", "the drive after could not have shown the shudder of before"},
	session.NotShown:         {"NOT SHOWN YET", "no shudder was seen after the repair, in too few passes to rule out chance"},
	session.Gone:             {"GONE", "no shudder was seen after the repair; luck alone would rarely do that"},
	session.NotAlike:         {"CANNOT TELL", "the drives are not alike: passes count only beside passes in the same gear, with the converter clutch and the engine's warmth as before"},
	session.TwoCars:          {"CANNOT TELL", "the two drives are of two cars"},
	session.Reversed:         {"CANNOT TELL", "the drive given as the one after the repair was made before the other"},
}

// pairText is the page of two drives.
func pairText(before, after *driveOf, doubt pairDoubt, p *session.Pair) string {
	var b strings.Builder
	words := pairWords[p.Finding]
	fmt.Fprintf(&b, "%s: %s\n", words.word, words.means)
	fmt.Fprintf(&b, "  before     %s\n  after      %s\n", before.words(), after.words())
	b.WriteString(doubt.words(before, after))
	if !p.Complaint.IsZero() {
		fmt.Fprintf(&b, "  compared   %s\n", session.PlaceWords(p.Complaint))
	} else {
		b.WriteString("  compared   at the road speeds and loads that both drives met; --complaint names one\n")
	}
	t := p.Table
	fmt.Fprintf(&b, "  shudder    %d of %s before, %d of %d after\n", t.Before, prose.Count(t.BeforeOf, "pass", "passes"), t.After, t.AfterOf)
	switch p.Finding {
	case session.Gone, session.NotShown, session.StillFelt:
		each := ""
		if len(p.Cells) > 1 {
			each = " in each line below, multiplied"
		}
		fmt.Fprintf(&b, "  chance     %s: so few after if the repair changed nothing (Fisher's exact test, one-sided%s; below 5 %% counts)\n", percent(p.Chance), each)
	}
	writeUnlike(&b, p)
	for _, why := range p.Blind {
		fmt.Fprintf(&b, "  not counted the drive after: %s\n", why)
	}
	if p.Finding == session.NotShown {
		if p.Possible {
			fmt.Fprintf(&b, "  needed     %s without shudder after, %s\n", prose.Count(p.More, "more pass", "more passes"), p.Where)
		} else {
			b.WriteString("  needed     more passes than anybody drives: it came too seldom before\n")
		}
	}
	for _, d := range []*driveOf{before, after} {
		if v := &d.result.Verdict; p.Finding == session.NothingToCompare && v.Testable == 0 {
			fmt.Fprintf(&b, "  unusable   %s: %s\n", filepath.Base(d.file), v.Reason)
		}
	}
	if p.TapStopped {
		b.WriteString("  tapped     after, brake taps stopped shakes before they were long enough to be called shudder\n")
	}
	if p.SeenAfter > t.After {
		fmt.Fprintf(&b, "  seen       %s after, in all conditions\n", prose.Times(p.SeenAfter))
	}
	if p.FeltAfter > 0 {
		fmt.Fprintf(&b, "  felt       %s after\n", prose.Times(p.FeltAfter))
	}
	if p.Complaint.IsZero() || len(p.Cells) > 1 {
		writeCells(&b, p.Cells)
	}
	writeSpreads(&b, p)
	return b.String()
}

// writeUnlike says which passes count for nothing, because none on the other side is like them. To a shudder
// that was seen after it adds nothing.
func writeUnlike(b *strings.Builder, p *session.Pair) {
	if p.Finding == session.StillThere {
		return
	}
	for _, why := range p.Unlike {
		fmt.Fprintf(b, "  not alike  %s\n", why)
	}
	for _, why := range p.Unknown {
		fmt.Fprintf(b, "  not known  %s\n", why)
	}
	if p.Apart > 0 {
		fmt.Fprintf(b, "  not counted %s after, with none like it before\n", prose.Count(p.Apart, "pass", "passes"))
	}
}

// writeCells lists the conditions that both drives met.
func writeCells(b *strings.Builder, cells []session.Cell) {
	names, width := make([]string, len(cells)), 24
	for i := range cells {
		names[i] = cells[i].Words()
		width = max(width, prose.Cells(names[i]))
	}
	for i := range cells {
		if i == 0 {
			fmt.Fprintf(b, "\n  %-*s    before     after\n", width, "conditions")
		}
		t := cells[i].Table
		fmt.Fprintf(b, "  %-*s %9s %9s\n", width, names[i], fmt.Sprintf("%d of %d", t.Before, t.BeforeOf), fmt.Sprintf("%d of %d", t.After, t.AfterOf))
	}
}

// writeSpreads puts the swings of the two drives one above the other.
func writeSpreads(b *strings.Builder, p *session.Pair) {
	if p.Before.Time == 0 || p.After.Time == 0 {
		return
	}
	b.WriteString("\n  share of usable time there by swing of engine speed, % of time\n  rpm from ")
	for i := range session.SpreadSteps {
		fmt.Fprintf(b, "%6d", i*session.SpreadStep)
	}
	for _, row := range []struct {
		name string
		s    *session.Spread
	}{{"before", &p.Before}, {"after", &p.After}} {
		fmt.Fprintf(b, "\n  %-9s", row.name)
		for _, share := range row.s.Share {
			fmt.Fprintf(b, "%6s", shareCell(share))
		}
	}
	b.WriteString("\n")
}

// shareCell is a share of time in percent; "." for none.
func shareCell(share float64) string {
	switch {
	case share == 0:
		return "."
	case share < 0.005:
		return "<1"
	}
	return fmt.Sprintf("%.0f", 100*share)
}

// pairReport is the JSON form of two drives side by side.
type pairReport struct {
	Version   int           `json:"version"`
	Before    string        `json:"before"`
	After     string        `json:"after"`
	Finding   string        `json:"finding"`
	Doubt     pairDoubt     `json:"doubt,omitempty"` // whether these are a drive before and one after
	Complaint *complaintRow `json:"complaint,omitempty"`
	Cells     []cellRow     `json:"cells"`
	Passes    cellRow       `json:"passes"`
	Chance    float64       `json:"chance"`
	More      *int          `json:"more_passes_needed,omitempty"`
	Seen      int           `json:"seen_after"` // shudders, in all conditions
	Felt      int           `json:"felt_after"`
	Blind     []string      `json:"not_counted,omitempty"` // why a drive after does not count
	Unlike    []string      `json:"not_alike,omitempty"`   // why passes after are not like those before
	Unknown   []string      `json:"not_known,omitempty"`   // by what passes could not be told apart
	Apart     int           `json:"passes_not_alike,omitempty"`
	Step      float64       `json:"swing_step_rpm"`
	SpreadOne []float64     `json:"swing_share_before"`
	SpreadTwo []float64     `json:"swing_share_after"`
}

// cellRow counts passes in the same conditions.
type cellRow struct {
	Conditions   *complaint.Box `json:"conditions,omitempty"`
	How          string         `json:"how,omitempty"` // in words, where the same conditions have several rows
	Before       int            `json:"shudder_before"`
	BeforePasses int            `json:"passes_before"`
	After        int            `json:"shudder_after"`
	AfterPasses  int            `json:"passes_after"`
}

func pairOfDrives(before, after string, doubt pairDoubt, p *session.Pair) pairReport {
	t := p.Table
	out := pairReport{Version: jsonVersion, Before: before, After: after, Finding: p.Finding.String(), Doubt: doubt, Cells: []cellRow{},
		Passes: cellRow{nil, "", t.Before, t.BeforeOf, t.After, t.AfterOf}, Chance: p.Chance, Seen: p.SeenAfter, Felt: p.FeltAfter, Blind: p.Blind, Unlike: p.Unlike, Unknown: p.Unknown, Apart: p.Apart, Step: session.SpreadStep,
		SpreadOne: p.Before.Share[:], SpreadTwo: p.After.Share[:]}
	if !p.Complaint.IsZero() {
		out.Complaint = &p.Complaint
	}
	for i := range p.Cells {
		c := &p.Cells[i]
		out.Cells = append(out.Cells, cellRow{&c.Box, c.How, c.Table.Before, c.Table.BeforeOf, c.Table.After, c.Table.AfterOf})
	}
	if p.Finding == session.NotShown && p.Possible {
		out.More = &p.More
	}
	return out
}
