package tui

import (
	"fmt"
	"path/filepath"
	"strings"
	"time"

	"github.com/judder-obd/judder/detect"
	"github.com/judder-obd/judder/prose"
	"github.com/judder-obd/judder/session"
)

// Ending is what is said at the end of a drive, on the last page and then in the shell.
type Ending struct {
	Length       time.Duration
	Verdict      detect.Verdict
	Events       []detect.Event
	Observations []detect.Observation
	Stops        []detect.Stop
	Losses       []session.Loss
	Spans        []detect.Span
	Marks        []session.Mark
	Path         string // of the recording; "" when nothing was recorded
	Stop         session.RecordingStop
	Trouble      string // why nothing, or not all, was recorded
}

// EndingOf is the ending of a whole result. path is where it was recorded.
func EndingOf(r *session.Result, path string, stop session.RecordingStop) Ending {
	return Ending{r.Duration, r.Verdict, r.Events, r.Observations, r.Stops, r.Losses, r.Spans, r.Marks, path, stop, r.Damage}
}

func endingOfSnapshot(s *session.Snapshot) Ending {
	return Ending{s.Now, s.Verdict, s.Events, s.Observations, s.Stops, s.Losses, s.Spans, s.Marks, s.Recording, s.Stopped, s.Trouble}
}

// endingMost is how many lines an ending may take in a shell of 80 cells.
const endingMost = 20

// Lines are the ending in lines of at most w cells: the finding, four lines, where it is saved, and
// what to do next.
func (e *Ending) Lines(w int) []string {
	lines := wrapped(strings.ToUpper(e.Verdict.Finding.String())+e.why(), w, 3)
	lines = append(lines, "")
	for _, l := range []string{e.driven(), e.seen(), e.felt(), e.besides()} {
		lines = append(lines, wrapped(l, w, 2)...)
	}
	lines = append(lines, "")
	for _, l := range []string{e.saved(), "Next: " + e.next()} {
		lines = append(lines, wrapped(l, w, 4)...)
	}
	return lines
}

func (e *Ending) why() string {
	if e.Verdict.Reason == "" {
		return ""
	}
	return ": " + prose.Clean(e.Verdict.Reason)
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
	return fmt.Sprintf("shudder: %s, largest at %s: %s, %s, %s, %s", times(len(e.Events)), prose.Clock(most.Start),
		quantity(most.SwingRPM, "rpm"), frequency(most), prose.Duration(most.End-most.Start), quantity(most.SpeedKMH, "km/h"))
}

// felt is what became of the felt marks.
func (e *Ending) felt() string {
	var seen, steady, dark int
	for _, m := range e.Marks {
		if m.Note != "" {
			continue
		}
		switch m.Outcome {
		case session.Seen:
			seen++
		case session.NotSeen:
			steady++
		default:
			dark++
		}
	}
	if seen+steady+dark == 0 {
		return "felt: no key was pressed"
	}
	return fmt.Sprintf("felt: %s; %d with shudder seen, %d with engine speed steady, %d where it could not show", times(seen+steady+dark), seen, steady, dark)
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
			parts = append(parts, fmt.Sprintf("%s %s", kind.Words(), times(n)))
		}
	}
	if n := len(e.Stops); n > 0 {
		parts = append(parts, "engine stopped "+times(n))
	}
	if n := len(e.Losses); n > 0 {
		parts = append(parts, "link lost "+times(n))
	}
	if len(parts) == 0 {
		return "besides: nothing"
	}
	return "besides: " + strings.Join(parts, ", ")
}

func times(n int) string {
	if n == 1 {
		return "once"
	}
	return fmt.Sprintf("%d times", n)
}

// saved is where the drive is recorded.
func (e *Ending) saved() string {
	switch {
	case e.Path == "":
		return "Not recorded."
	case e.Stop.Cause != "":
		return "Recorded only until " + prose.Clock(e.Stop.At) + " (" + prose.Clean(e.Stop.Cause) + ") in " + e.file()
	case e.Trouble != "":
		return "Recorded, but not whole (" + prose.Clean(e.Trouble) + "), in " + e.file()
	}
	return "Recorded in " + e.file()
}

func (e *Ending) file() string { return prose.Clean(filepath.ToSlash(e.Path)) }

// next is what to do now.
func (e *Ending) next() string {
	if e.Path == "" {
		if e.Verdict.Finding == detect.Shudder {
			return "read the codes (judder check) before any repair; record the next drive."
		}
		return "record the next drive, and press space when the shake is felt."
	}
	switch e.Verdict.Finding {
	case detect.Shudder:
		return "judder replay " + e.file() + " shows each shudder, judder picture draws one; read the codes (judder check) before any repair."
	case detect.NoShudder:
		return "if the shake was felt, drive again where it shakes and press space; judder review " + e.file() + " has the rest."
	}
	return "drive again with a light, steady throttle where it shakes, half a minute at a time; judder review " + e.file() + " has the rest."
}
