package cli

import (
	"cmp"
	"fmt"
	"io"
	"math"
	"slices"
	"strings"
	"time"

	"github.com/judder-obd/judder/detect"
	"github.com/judder-obd/judder/detect/cause"
	"github.com/judder-obd/judder/prose"
	"github.com/judder-obd/judder/session"
)

// The page of a review fits a screen: it has so many lines at most in a window of 80 cells, of which
// the table of shudders takes what the rest leaves it.
const (
	pageMost   = 30
	rowsLeast  = 3
	rowsWanted = 5
)

// labelWidth is the width of the words at the left of a page's lines.
const labelWidth = 11

// sheet is a page that grows.
type sheet struct {
	width int
	most  int // lines that an item may have; 0 for all that it needs
	told  int // the same for what the drive cannot show and what to do
	lines []string
}

// line adds a line with a word at the left; what does not fit goes on under the text.
func (p *sheet) line(label, text string) { p.item(label, text, p.most) }

// advice adds a line of what the drive cannot show or what to do.
func (p *sheet) advice(label, text string) { p.item(label, text, p.told) }

func (p *sheet) item(label, text string, most int) {
	if text == "" {
		return
	}
	width := max(p.width-labelWidth-2, 20)
	wrapped := prose.WrapText(text, width)
	if most > 0 && len(wrapped) > most {
		wrapped = wrapped[:most]
		wrapped[most-1] = prose.WrapText(wrapped[most-1], width-2)[0] + " …"
	}
	for i, l := range wrapped {
		if i > 0 {
			label = ""
		}
		p.lines = append(p.lines, fmt.Sprintf("  %-*s%s", labelWidth, label, l))
	}
}

// printText prints a result for a person: a page that fits a screen, and with all everything else that
// is known. Lines take at most width cells; the line with the file's name stays whole.
func printText(w io.Writer, file string, r *session.Result, width int, all bool) error {
	name := file
	if file == "" {
		name = "this drive"
	}
	if _, err := fmt.Fprintf(w, "%s: %s\n", name, headlineWord(r)); err != nil {
		return err
	}
	top, table, end := sheet{width: width}, sheet{width: width}, sheet{width: width}
	top.head(r)
	room := math.MaxInt
	if all {
		end.foot(file, r, all)
	} else {
		room = end.fit(file, r, pageMost-1-len(top.lines))
	}
	table.shudders(r, room)
	for _, p := range []sheet{top, table, end} {
		for _, l := range p.lines {
			if _, err := fmt.Fprintln(w, l); err != nil {
				return err
			}
		}
	}
	if !all {
		return nil
	}
	return writeLines(w, restOf(r), width)
}

// fit makes the end of a page that has so many lines with its table, and returns how many the table
// gets. Where items must be cut, what the drive cannot show and what to do come last.
func (p *sheet) fit(file string, r *session.Result, lines int) (room int) {
	want, cuts := min(len(r.Events)+2, rowsWanted+3), [...]sheet{{most: 2, told: 2}, {most: 1, told: 2}, {most: 1, told: 1}}
	if len(r.Events) == 0 {
		want = len(coverageLines(&r.Cover, r.Complaint)) + 1
		cuts[2] = cuts[0] // the table goes instead
	}
	for _, may := range cuts {
		*p = sheet{width: p.width, most: may.most, told: may.told}
		p.foot(file, r, false)
		if room = lines - len(p.lines); room >= want {
			break
		}
	}
	return room
}

// headlineWord is the headline in capitals.
func headlineWord(r *session.Result) string {
	if r.Headline.Word != "" {
		return r.Headline.Word
	}
	return strings.ToUpper(r.Verdict.Finding.String())
}

// head adds the finding and what was driven, complained of, seen and felt.
func (p *sheet) head(r *session.Result) {
	if r.Verdict.Reason != "" {
		for _, l := range prose.WrapText(r.Verdict.Reason, max(p.width-2, 20)) {
			p.lines = append(p.lines, "  "+l)
		}
	}
	p.line("driven", drivenWords(r))
	if !r.Complaint.IsZero() {
		p.line("complaint", fmt.Sprintf("%s: %s usable, %s; %s", r.Complaint, prose.Duration(r.Need.Judged), prose.Count(r.Need.Passes, "pass", "passes"), r.Need.Short()))
	}
	p.line("seen", seenWords(r))
	p.line("felt", feltWords(r))
	p.line("blind", blindWords(&r.Blind))
}

func drivenWords(r *session.Result) string {
	var parts []string
	if !r.Recorded.At.IsZero() {
		parts = append(parts, r.Recorded.At.Format("2 Jan 2006 15:04"))
	}
	parts = append(parts, prose.Clock(r.Duration)+", usable "+prose.Duration(r.Verdict.Testable))
	if r.Rate > 0 {
		parts = append(parts, fmt.Sprintf("%.0f readings a second", r.Rate))
	}
	return strings.Join(parts, ", ")
}

// seenWords are how often shudder was seen, where the complaint is and elsewhere.
func seenWords(r *session.Result) string {
	switch {
	case r.Verdict.Testable == 0:
		return "nothing: no usable time"
	case len(r.Events) == 0:
		return fmt.Sprintf("no swing past the alarm in %s usable", prose.Duration(r.Verdict.Testable))
	}
	if r.Complaint.IsZero() {
		return fmt.Sprintf("%s in %s usable", prose.Times(len(r.Events)), prose.Duration(r.Verdict.Testable))
	}
	there := 0
	for i := range r.Events {
		if session.Meets(r.Complaint, &r.Events[i]) {
			there++
		}
	}
	return fmt.Sprintf("%s in %s there; elsewhere %s in %s", prose.Times(there), prose.Duration(r.Need.Judged),
		prose.Times(len(r.Events)-there), prose.Duration(max(r.Verdict.Testable-r.Need.Judged, 0)))
}

// feltWords are how often the shake was felt, and what became of the marks; "" where none was made.
func feltWords(r *session.Result) string {
	var n [4]int
	all := 0
	for i := range r.Marks {
		if m := &r.Marks[i]; m.Note == "" {
			n[m.Outcome]++
			all++
		}
	}
	if all == 0 {
		return ""
	}
	var words []string
	for _, c := range []struct {
		n    int
		what string
	}{{n[session.Seen], "seen"}, {n[session.NotSeen], "with engine speed steady"}, {n[session.NotJudged], "where nothing could be seen"}} {
		if c.n > 0 {
			words = append(words, fmt.Sprintf("%d %s", c.n, c.what))
		}
	}
	return prose.Times(all) + ": " + strings.Join(words, ", ")
}

// blindWords are the figure for chance, with all that is needed to check it by hand.
func blindWords(b *session.BlindState) string {
	switch {
	case b.Passes == 0:
		return ""
	case b.Marks == 0:
		return fmt.Sprintf("%s, no mark in usable time: no figure for chance", prose.Count(b.Passes, "blind pass", "blind passes"))
	}
	return fmt.Sprintf("%d of %s within -0.5 to +3 s of a shudder, %.1f %% of %s usable and blind; %d or more of %d by luck: %s (exact binomial)",
		b.Hits, prose.Count(b.Marks, "mark", "marks"), 100*b.Share, prose.Duration(b.Judged), b.Hits, b.Marks, percent(b.Chance))
}

// percent is a probability in two digits, "less than" where that is not enough.
func percent(p float64) string {
	switch {
	case p < 0.0001:
		return "below 0.01 %"
	case p < 0.1:
		return fmt.Sprintf("%.2g %%", 100*p)
	}
	return fmt.Sprintf("%.0f %%", 100*p)
}

// foot adds what else there was, what speaks for and against, and what to do.
func (p *sheet) foot(file string, r *session.Result, all bool) {
	if len(r.Events) == 0 {
		p.line("not usable", spentWords(r))
	}
	p.line("also seen", besidesWords(r))
	p.advice("steps", contrastWords(r))
	ledger := session.LedgerOf(r)
	p.side("for", &ledger, cause.For)
	p.side("against", &ledger, cause.Against)
	p.untested(&ledger)
	p.advice("cannot", cannotWords(r))
	p.advice("show it", showWords(r))
	p.advice("next", cmp.Or(r.Headline.Next(), ledger.Next.Words()))
	p.line("not read", missingWords(r))
	p.line("file", r.Damage)
	if !all && file != "" {
		p.item("more", "judder review --all "+prose.Quoted(file), 0) // a command is never cut
	}
}

// spentWords are the three reasons that most of the time was not usable for.
func spentWords(r *session.Result) string {
	const most = 3
	rows := slices.DeleteFunc(masks(r), func(m maskRow) bool { return m.Reason == detect.Judged.String() })
	slices.SortStableFunc(rows, func(a, b maskRow) int { return cmp.Compare(b.length, a.length) })
	var words []string
	for _, m := range rows[:min(len(rows), most)] {
		words = append(words, m.words+" "+prose.Duration(m.length))
	}
	return strings.Join(words, ", ")
}

// missingWords name what the vehicle profile promised and the car did not give.
func missingWords(r *session.Result) string {
	var words []string
	for i := range r.Missing {
		u := &r.Missing[i]
		why, todo := u.Words()
		words = append(words, fmt.Sprintf("%s (%s %04X): %s; %s", u.Signal, u.Module, u.Identifier, why, todo))
	}
	return strings.Join(words, "; ")
}

// sideMost is how many lines a side of the ledger has on the page.
const sideMost = 3

// side adds what speaks for or against, by cause.
func (p *sheet) side(label string, l *cause.Ledger, s cause.Side) {
	var texts []string
	for c := range cause.Cause(cause.CauseCount) {
		var words []string
		for _, x := range l.Of(c, s) {
			if p.most > 0 {
				x.At = nil // times are with --all
			}
			words = append(words, x.Words())
		}
		if len(words) > 0 {
			texts = append(texts, c.String()+": "+strings.Join(words, "; "))
		}
	}
	for i, text := range texts {
		if i == sideMost-1 && len(texts) > sideMost {
			p.line("", fmt.Sprintf("and %d more causes", len(texts)-i))
			return
		}
		p.line(label, text)
		label = ""
	}
}

// untested adds the tests that were not made, each once.
func (p *sheet) untested(l *cause.Ledger) {
	var words []string
	for i := range l.Lines {
		if x := &l.Lines[i]; x.Side == cause.Untested && !slices.Contains(words, x.Words()) {
			words = append(words, x.Words())
		}
	}
	p.line("untested", strings.Join(words, "; "))
}

// besidesWords are what else was seen, each kind once.
func besidesWords(r *session.Result) string {
	var order []string
	times := map[string][]time.Duration{}
	add := func(what string, at time.Duration) {
		if times[what] == nil {
			order = append(order, what)
		}
		times[what] = append(times[what], at)
	}
	for _, o := range r.Observations {
		add(o.Kind.Words(), o.Start)
	}
	for i := range r.Slip {
		add("slip that swings", r.Slip[i].Start)
	}
	for _, c := range r.Codes {
		add("code "+c.Code, c.At)
	}
	for _, l := range r.Losses {
		add("link lost", l.Start)
	}
	for i, what := range order {
		at := times[what]
		slices.Sort(at)
		order[i] = fmt.Sprintf("%s (%s)", what, someTimes(at))
	}
	return strings.Join(order, "; ")
}

// someTimes are the first three of some times.
func someTimes(at []time.Duration) string {
	const most = 3
	var words []string
	for _, t := range at[:min(len(at), most)] {
		words = append(words, prose.Clock(t))
	}
	text := strings.Join(words, ", ")
	if len(at) > most {
		text += fmt.Sprintf(" and %d more", len(at)-most)
	}
	return text
}

// cannotWords are what the drive cannot show, each look-alike once with the numbers of its shudders.
func cannotWords(r *session.Result) string {
	var order []string
	of := map[string][]string{}
	for i := range r.Events {
		for _, doubt := range strings.Split(r.Events[i].CannotTell, "; ") {
			if doubt == "" {
				continue
			}
			if of[doubt] == nil {
				order = append(order, doubt)
			}
			of[doubt] = append(of[doubt], fmt.Sprint(i+1))
		}
	}
	slices.SortStableFunc(order, func(a, b string) int { return cmp.Compare(len(of[b]), len(of[a])) })
	var parts []string
	for _, doubt := range order {
		which := "shudder " + strings.Join(of[doubt], ", ")
		if len(of[doubt]) == len(r.Events) {
			which = "each shudder"
		}
		parts = append(parts, fmt.Sprintf("in doubt: %s (%s)", which, doubt))
	}
	if v := r.Verdict.SmallestRPM; v > 0 {
		parts = append([]string{fmt.Sprintf("most swings below %.0f rpm do not show; friction shudder has %d to %d rpm", math.Ceil(v), session.FrictionLeastRPM, session.FrictionMostRPM)}, parts...)
	}
	return strings.Join(parts, "; ")
}

// showWords are how to show the shudder to somebody who must feel it.
func showWords(r *session.Result) string {
	events := r.Events
	if there := slices.DeleteFunc(slices.Clone(events), func(e detect.Event) bool { return !session.Meets(r.Complaint, &e) }); len(there) > 0 {
		events = there
	}
	if len(events) == 0 {
		return ""
	}
	parts := []string{
		"drive " + span(events, "km/h", func(e *detect.Event) float64 { return e.SpeedKMH }),
		"throttle " + span(events, "%", func(e *detect.Event) float64 { return e.ThrottlePct }),
		"load " + span(events, "%", func(e *detect.Event) float64 { return e.LoadPct }),
		"coolant " + span(events, "°C", func(e *detect.Event) float64 { return e.CoolantC }),
	}
	parts = slices.DeleteFunc(parts, func(text string) bool { return strings.HasSuffix(text, " ") })
	text := strings.Join(parts, ", ") + "; hold for half a minute"
	if n := &r.Need; n.Passes > 0 && n.Shudders > 0 {
		text += fmt.Sprintf("; it came in %d of %s", n.Shudders, prose.Count(n.Passes, "pass", "passes"))
	}
	text += "; it lasted " + lasting(events)
	if len(events) > 1 {
		text += " each time"
	}
	return text
}

// lasting is how long events lasted: "2.4 s", "0.4 s to 3.3 s".
func lasting(events []detect.Event) string {
	shortest, longest := time.Duration(math.MaxInt64), time.Duration(0)
	for i := range events {
		d := events[i].End - events[i].Start
		shortest, longest = min(shortest, d), max(longest, d)
	}
	low, high := prose.Duration(shortest), prose.Duration(longest)
	if low == high {
		return low
	}
	return low + " to " + high
}

// span is the range of a figure over events: "62 to 71 km/h"; "" where it was not read.
func span(events []detect.Event, unit string, of func(*detect.Event) float64) string {
	low, high := math.Inf(1), math.Inf(-1)
	for i := range events {
		if v := of(&events[i]); !math.IsNaN(v) {
			low, high = min(low, v), max(high, v)
		}
	}
	switch {
	case low > high:
		return ""
	case math.Round(low) == math.Round(high):
		return fmt.Sprintf("%.0f %s", low, unit)
	}
	return fmt.Sprintf("%.0f to %.0f %s", low, high, unit)
}
