package session

import (
	"fmt"
	"time"

	"github.com/judder-obd/judder/detect"
	"github.com/judder-obd/judder/session/complaint"
)

// Coverage is how long the drive was judged by road speed and load: a row for each band, the slowest
// first, with 0 where it was not driven.
type Coverage struct {
	Rows []CoverRow
}

// CoverRow is one band of road speed.
type CoverRow struct {
	FromKMH, ToKMH float64
	Judged         [coverLoads]time.Duration // by load: light, medium, heavy, not known
}

// The columns of a row.
const (
	CoverLight = iota
	CoverMedium
	CoverHeavy
	CoverUnknown // neither load nor throttle was read
	coverLoads
)

// coverBand is the width of a band, km/h.
const coverBand = 10

func newCoverage() Coverage {
	var c Coverage
	for from := float64(detect.CruiseFromKMH); from < detect.CruiseToKMH; from += coverBand {
		c.Rows = append(c.Rows, CoverRow{FromKMH: from, ToKMH: from + coverBand})
	}
	return c
}

// CoverColumn is the column of a load.
func CoverColumn(load complaint.Load) int {
	for i, l := range complaint.Loads {
		if l == load {
			return i
		}
	}
	return CoverUnknown
}

func (c *Coverage) add(m *moment) {
	if i := int((m.SpeedKMH - detect.CruiseFromKMH) / coverBand); m.SpeedKMH >= detect.CruiseFromKMH && i < len(c.Rows) {
		c.Rows[i].Judged[CoverColumn(complaint.LoadOf(m.Point))] += m.end - m.start
	}
}

// into copies the table to dst, whose rows are reused.
func (c *Coverage) into(dst *Coverage) { dst.Rows = append(dst.Rows[:0], c.Rows...) }

// Enough: so many passes and so much judged time in the operating conditions of the complaint are
// enough to clear them. They are the figures for the whole drive (see [detect.Tuning]).
const (
	EnoughPasses = 3
	EnoughJudged = 30 * time.Second
)

// Need is what of the complaint was met and what is still needed. Without a complaint it is about
// every speed and load that is judged.
type Need struct {
	Judged   time.Duration // in the complaint's operating conditions
	Passes   int           // there
	Shudders int           // passes there in which shudder was seen
	More     int           // passes still needed; 0 when enough
	Beyond   bool          // the complaint's road speeds are outside the band that is judged
}

// Enough reports whether no more is needed.
func (n *Need) Enough() bool { return n.More == 0 && !n.Beyond }

// passWords is the least length of a pass.
var passWords = fmt.Sprintf("%.0f s", PassLeast.Seconds())

// needOf counts passes in the box; all pass where there is none.
func needOf(box complaint.Box, judged time.Duration, passes []Pass) Need {
	n := Need{Judged: judged, Beyond: !box.Judgeable()}
	for i := range passes {
		if box.IsZero() || passes[i].InComplaint {
			n.Passes++
			if passes[i].Shudder {
				n.Shudders++
			}
		}
	}
	n.More = max(EnoughPasses-n.Passes, 0)
	if short := EnoughJudged - judged; short > 0 {
		n.More = max(n.More, int((short+PassLeast-1)/PassLeast))
	}
	return n
}

// Words are what is still needed: "2 more passes of 8 s at 60 to 70 km/h, light, warm", "enough passes at
// 60 to 70 km/h, light, warm".
func (n *Need) Words(box complaint.Box) string {
	where := PlaceWords(box)
	switch {
	case n.Beyond:
		return fmt.Sprintf("%s: outside %d to %d km/h nothing can be seen", where, detect.CruiseFromKMH, detect.CruiseToKMH)
	case n.More == 0:
		return "enough passes " + where
	}
	return n.amount() + " " + where
}

// Short is Words without the place: "2 more passes of 8 s", "enough".
func (n *Need) Short() string {
	switch {
	case n.Beyond:
		return "outside the speeds that can show shudder"
	case n.More == 0:
		return "enough"
	}
	return n.amount() + " needed"
}

// amount is how many passes are still needed.
func (n *Need) amount() string {
	if n.More == 1 {
		return "one more pass of " + passWords
	}
	return fmt.Sprintf("%d more passes of %s", n.More, passWords)
}

// PlaceWords are where a complaint is: "at 60 to 70 km/h, light load, warm"; "at a steady throttle"
// where there is none.
func PlaceWords(box complaint.Box) string {
	text, sep := "", ""
	add := func(format string, args ...any) {
		text += sep + fmt.Sprintf(format, args...)
		sep = ", "
	}
	if box.HasSpeed() {
		add("at %g to %g km/h", box.FromKMH, box.ToKMH)
	}
	if box.Load != "" {
		add("%s load", box.Load)
	}
	if box.Engine != "" {
		add("%s", box.Engine)
	}
	if box.Gear != 0 {
		add("gear %d", box.Gear)
	}
	switch {
	case text == "":
		return "at a steady throttle"
	case !box.HasSpeed():
		return "at " + text
	}
	return text
}
