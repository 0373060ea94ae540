package tui

import (
	"fmt"
	"path/filepath"
	"slices"
	"time"

	"github.com/judder-obd/judder/detect"
	"github.com/judder-obd/judder/detect/slip"
	"github.com/judder-obd/judder/prose"
	"github.com/judder-obd/judder/session"
)

// incident is one row of the list under the pictures.
type incident struct {
	at     time.Duration
	what   string // kind, in words
	text   string
	aside  string // at the right: what was felt
	weight mood
}

var stopWords = [...]string{
	detect.StopAutomatic: "automatic, car stopped",
	detect.StopRolling:   "car rolling",
	detect.StopStall:     "stalled: did not restart by itself",
	detect.StopOff:       "off",
	detect.StopUnseen:    "its end was not seen",
}

// incidents lists what happened, latest first, at most n of them.
func incidents(dst []incident, s *session.Snapshot, n int) []incident {
	dst = dst[:0]
	for i := range s.Events {
		dst = append(dst, shudderRow(&s.Events[i], s.Marks))
	}
	for i := range s.Slip {
		if !inShudder(&s.Slip[i], s.Events) {
			dst = append(dst, slipRow(&s.Slip[i]))
		}
	}
	for i := range s.Losses {
		dst = append(dst, lossRow(&s.Losses[i], s.Now))
	}
	for i := range s.Checks {
		dst = append(dst, checkRow(&s.Checks[i]))
	}
	dst = missingRows(dst, s.Missing)
	if s.Stopped.Cause != "" {
		dst = append(dst, incident{at: s.Stopped.At, what: "recording ends", text: prose.Clean(s.Stopped.Cause) + "; what came before is kept", weight: moodWatch})
	}
	for _, st := range s.Stops {
		dst = append(dst, stopRow(st, s.Now))
	}
	for _, o := range s.Observations {
		dst = append(dst, incident{at: o.Start, what: o.Kind.Words(),
			text: fmt.Sprintf("%s, %s", quantity(o.SwingRPM, "rpm"), prose.Duration(o.End-o.Start)), weight: moodWatch})
	}
	for i := range s.Steps {
		if worthARow(&s.Steps[i]) {
			dst = append(dst, stepRow(&s.Steps[i]))
		}
	}
	for _, m := range s.Marks {
		if row, own := markRow(m); own {
			dst = append(dst, row)
		}
	}
	slices.SortStableFunc(dst, func(a, b incident) int {
		switch {
		case a.at > b.at:
			return -1
		case a.at < b.at:
			return 1
		}
		return 0
	})
	return dst[:min(n, len(dst))]
}

func word(words []string, i int) string {
	if i < len(words) {
		return words[i]
	}
	return dash
}

// checkRow is the row of a code check: its length, and where its result is.
func checkRow(c *session.CodeCheck) incident {
	text := "engine speed is not read meanwhile"
	if c.End > c.Start {
		text = prose.Duration(c.End - c.Start)
	}
	if c.Broke {
		text += ", broke off"
	}
	if c.Kept != "" {
		text += ", result in " + prose.Clean(filepath.Base(c.Kept))
	}
	return incident{at: c.Start, what: "code check", text: text}
}

func shudderRow(e *detect.Event, marks []session.Mark) incident {
	text := fmt.Sprintf("%s, %s, %s at %s", quantity(e.SwingRPM, "rpm"), frequency(e),
		prose.Duration(e.End-e.Start), quantity(e.SpeedKMH, "km/h"))
	return incident{at: e.Start, what: "shudder", text: text, aside: feltWords(e, marks), weight: moodAlarm}
}

// missingRows are the rows of what the vehicle profile promised and the car does not give, one for
// each reason, so that they take little of the list.
func missingRows(dst []incident, list []session.Missing) []incident {
	for i := range list {
		u, more, since := &list[i], 0, list[i].Since
		if slices.IndexFunc(list, func(o session.Missing) bool { return sameWay(&o, u) }) < i {
			continue
		}
		for _, o := range list[i+1:] {
			if sameWay(&o, u) {
				more++
				since = min(since, o.Since)
			}
		}
		text := prose.Clean(string(u.Signal))
		if more > 0 {
			text += fmt.Sprintf(" and %d more", more)
		}
		why, _ := u.Words()
		dst = append(dst, incident{at: since, what: "not read", text: text + ": " + why, weight: moodWatch})
	}
	return dst
}

// sameWay reports whether two parameters are missing for the same reason.
func sameWay(a, b *session.Missing) bool { return a.Way == b.Way && a.Refusal == b.Refusal }

// inShudder reports whether a swing of slip is a shudder once more: slip that is computed from engine
// speed swings with it. Slip that was read is evidence of its own.
func inShudder(w *slip.Swing, events []detect.Event) bool {
	return w.ApparentRPM > 0 && slices.ContainsFunc(events, func(e detect.Event) bool { return e.Start < w.End && w.Start < e.End })
}

// slipRow is the row of converter slip that swung while it should be steady.
func slipRow(w *slip.Swing) incident {
	text := quantity(w.SwingRPM, "rpm") + " about " + quantity(w.MeanRPM, "rpm")
	if w.ApparentRPM > 0 {
		text = quantity(w.SwingRPM, "rpm") + " about " + amount(w.MeanRPM, "rpm") + " ± " + quantity(w.ApparentRPM, "rpm") + " (est.)"
	} else if known(w.WantedRPM) {
		text += ", wanted " + quantity(w.WantedRPM, "rpm")
	}
	return incident{at: w.Start, what: "slip swings", text: text + ", " + prose.Duration(w.End-w.Start), weight: moodWatch}
}

// frequency names the frequency of an event, with "?" when it may be the alias of another.
func frequency(e *detect.Event) string {
	switch {
	case len(e.Hz) == 0 && !e.Regular:
		return "irregular"
	case len(e.Hz) == 0:
		return dash + " Hz"
	case e.AnotherHz():
		return amount(e.Hz[0], "Hz") + "? Hz"
	}
	return quantity(e.Hz[0], "Hz")
}

func stopRow(st detect.Stop, now time.Duration) incident {
	row := incident{at: st.Start, what: "engine stop", text: word(stopWords[:], int(st.Kind))}
	if st.FromStart {
		row.what, row.text = "engine off", "since the beginning"
		if st.Kind == detect.StopRolling {
			row.text += ", " + stopWords[detect.StopRolling]
		}
	}
	if st.End > st.Start {
		row.text += ", " + prose.Duration(min(st.End, max(now, st.Start))-st.Start)
	}
	return row
}

// lossRow is the row of a lost link.
func lossRow(l *session.Loss, now time.Duration) incident {
	text := prose.Duration(l.End-l.Start) + ", " + prose.Clean(l.Words())
	if l.Open {
		text = "so far " + prose.Duration(max(now-l.Start, 0)) + ", " + prose.Clean(l.Words())
	}
	return incident{at: l.Start, what: "link lost", text: text, weight: moodWatch}
}
