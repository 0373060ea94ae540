package tui

import (
	"fmt"
	"path/filepath"
	"strings"
	"time"

	"github.com/judder-obd/judder/detect"
	"github.com/judder-obd/judder/detect/cause"
	"github.com/judder-obd/judder/detect/steps"
	"github.com/judder-obd/judder/prose"
	"github.com/judder-obd/judder/session"
	"github.com/judder-obd/judder/session/complaint"
)

// Ending is what is said at the end of a drive, on the last page and then in the shell.
type Ending struct {
	Length       time.Duration
	Verdict      detect.Verdict // as the headline has it
	Headline     session.Headline
	Complaint    complaint.Box
	Need         session.Need
	Blind        session.BlindState
	Steps        []steps.Step
	Test         cause.Test // the most telling of what was not tried
	Events       []detect.Event
	Observations []detect.Observation
	Stops        []detect.Stop
	Losses       []session.Loss
	Spans        []detect.Span
	Marks        []session.Mark
	Path         string // of the recording; "" when nothing was recorded
	Stop         session.RecordingStop
	Trouble      string // why nothing, or not all, was recorded
	Replay       bool   // the recording was played, not made
}

// EndingOf is the ending of a whole result. path is where it was recorded.
func EndingOf(r *session.Result, path string, stop session.RecordingStop) Ending {
	ledger := session.LedgerOf(r)
	return Ending{Test: ledger.Next, Length: r.Duration, Verdict: r.Verdict, Headline: r.Headline, Complaint: r.Complaint, Need: r.Need, Blind: r.Blind, Steps: r.Steps,
		Events: r.Events, Observations: r.Observations, Stops: r.Stops, Losses: r.Losses, Spans: r.Spans, Marks: r.Marks,
		Path: path, Stop: stop, Trouble: r.Damage}
}

// endingOfReplay is the ending of a whole recording, with the marks made at the bench.
func endingOfReplay(s *session.Snapshot) Ending {
	e := EndingOf(s.Replay.Whole, s.Link.Source, session.RecordingStop{})
	e.Marks, e.Replay = s.Replay.Marks, true
	return e
}

// endingMost is how many lines an ending may take in a shell of 80 cells.
const endingMost = 20

// Lines are the ending in lines of at most w cells, a file's name whole: the headline, four lines and what
// there was of a complaint and of blind passes, where it is saved, and what to do next.
func (e *Ending) Lines(w int) []string {
	lines := wrapped(headlineWords(&e.Headline), w, 4)
	lines = append(lines, "")
	for _, l := range []string{e.driven(), e.complained(), e.seen(), e.felt(), e.blind(), e.besides()} {
		if l != "" {
			lines = append(lines, wrapped(l, w, 2)...)
		}
	}
	for _, l := range contrastLines(e.Steps, e.Events) {
		lines = append(lines, wrapped(l, w, 2)...)
	}
	lines = append(lines, "")
	for _, l := range []string{e.saved(), "Next: " + e.next()} { // whole: names and commands
		lines = append(lines, prose.WrapText(l, w)...)
	}
	return lines
}

// complained is what was driven of the complaint, and what is still needed; "" where there is none.
func (e *Ending) complained() string {
	if e.Complaint.IsZero() {
		return ""
	}
	return "complaint " + e.Complaint.String() + ": " + needCounts(&e.Need) + "; " + stillNeeded(&e.Need)
}

// blind is what the blind passes gave; "" where there was none.
func (e *Ending) blind() string {
	if e.Blind.Passes == 0 {
		return ""
	}
	return blindWords(&e.Blind)
}

func (e *Ending) driven() string {
	text := "driven " + prose.Clock(e.Length) + ", usable " + prose.Duration(e.Verdict.Testable)
	if e.Verdict.SmallestRPM > 0 {
		text += "; typical smallest visible swing " + quantity(e.Verdict.SmallestRPM, "rpm")
	}
	return text
}

// seen is how often shudder was seen, and the largest of it.
func (e *Ending) seen() string {
	if len(e.Events) == 0 {
		return "shudder: not seen"
	}
	most := &e.Events[0]
	for i := range e.Events {
		if e.Events[i].SwingRPM > most.SwingRPM {
			most = &e.Events[i]
		}
	}
	return fmt.Sprintf("shudder: %s, largest at %s: %s, %s, %s, %s", prose.Times(len(e.Events)), prose.Clock(most.Start),
		quantity(most.SwingRPM, "rpm"), frequency(most), prose.Duration(most.End-most.Start), quantity(most.SpeedKMH, "km/h"))
}

// felt is what became of the felt marks.
func (e *Ending) felt() string {
	c := session.CountFelt(e.Marks)
	if c.All == 0 {
		return "felt: not marked"
	}
	var parts []string
	for _, p := range []struct {
		n    int
		what string
	}{{c.Seen, "with shudder seen"}, {c.Steady, "with engine speed steady"}, {c.All - c.Seen - c.Steady, "where it could not show"}} {
		if p.n > 0 {
			parts = append(parts, fmt.Sprintf("%d %s", p.n, p.what))
		}
	}
	return "felt: " + prose.Times(c.All) + "; " + strings.Join(parts, ", ")
}

// besides is what else there was.
func (e *Ending) besides() string {
	var parts []string
	counts := map[detect.ObservationKind]int{}
	for _, o := range e.Observations {
		counts[o.Kind]++
	}
	for kind := detect.SlowSwing; kind <= detect.IrregularScatter; kind++ {
		if n := counts[kind]; n > 0 {
			parts = append(parts, fmt.Sprintf("%s %s", kind.Words(), prose.Times(n)))
		}
	}
	if n := len(e.Stops); n > 0 {
		parts = append(parts, "engine stopped "+prose.Times(n))
	}
	if n := len(e.Losses); n > 0 {
		parts = append(parts, "link lost "+prose.Times(n))
	}
	if len(parts) == 0 {
		return "also seen: nothing"
	}
	return "also seen: " + strings.Join(parts, ", ")
}

// saved is where the drive is recorded.
func (e *Ending) saved() string {
	switch {
	case e.Replay && e.Trouble != "":
		return "Recording (" + prose.Clean(e.Trouble) + "): " + e.file()
	case e.Replay:
		return "Recording: " + e.file()
	case e.Path == "":
		return "Not recorded."
	case e.Stop.Cause != "":
		return "Recorded only until " + prose.Clock(e.Stop.At) + " (" + prose.Clean(e.Stop.Cause) + ") in " + e.file()
	case e.Stop.Lost():
		return "Recorded, but no longer in " + e.file() + ": it, or its folder, was removed or moved during the drive."
	case e.Stop.Rewritten():
		return "Recorded in " + e.file() + ", written again whole after it was removed or moved"
	case e.Trouble != "":
		return "Recorded, but not whole (" + prose.Clean(e.Trouble) + "), in " + e.file()
	}
	return "Recorded in " + e.file()
}

func (e *Ending) file() string { return prose.Clean(filepath.ToSlash(e.Path)) }

// named is the file as a command takes it.
func (e *Ending) named() string { return prose.Quoted(e.file()) }

// sentenceEnd ends a text with a full stop where it has no end yet.
func sentenceEnd(text string) string {
	if strings.HasSuffix(text, "?") {
		return text
	}
	return text + "."
}

// next is what to do now.
func (e *Ending) next() string {
	shudder := e.Verdict.Finding == detect.Shudder
	noFile := e.Path == "" || e.Stop.Lost()
	switch {
	case noFile && shudder:
		return "read the codes (judder check) before any repair; record the next drive."
	case noFile:
		return "record the next drive, and press space when the shake is felt."
	case shudder && e.Test != cause.NoTest:
		return sentenceEnd(e.Test.Words()) + " Read the codes (judder check) before any repair. " + e.look()
	case shudder:
		return "read the codes (judder check) before any repair. " + e.look()
	case e.Test == cause.CoastNeutral: // felt, and not seen
		return sentenceEnd(e.Test.Words()) + " judder review " + e.named() + " has the rest."
	case e.Headline.Next() != "":
		return e.Headline.Next() + "; judder review " + e.named() + " has the rest."
	}
	return "drive again with a light, steady throttle where it shakes, half a minute at a time; judder review " + e.named() + " has the rest."
}

// look is where a shudder can be looked at.
func (e *Ending) look() string {
	if e.Replay {
		return "judder picture " + e.named() + " draws a shudder, judder review says what speaks for which cause."
	}
	return "judder replay " + e.named() + " shows each shudder, judder review says what speaks for which cause."
}
