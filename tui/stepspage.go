package tui

import (
	"fmt"
	"slices"
	"strings"
	"time"

	tea "github.com/charmbracelet/bubbletea"

	"github.com/judder-obd/judder/detect"
	"github.com/judder-obd/judder/detect/steps"
	"github.com/judder-obd/judder/prose"
	"github.com/judder-obd/judder/session"
)

// stepsPage is the list of the steps that can be announced, and after that what to do.
type stepsPage struct {
	row   int
	until time.Time // the page closes itself then; zero while it is a list
}

// toldFor is how long what to do stays on the screen, unless a key is pressed.
const toldFor = 20 * time.Second

// openSteps turns to the list.
func openSteps(m *model) tea.Cmd {
	m.steps.until = time.Time{}
	if m.snap.Arming.On {
		m.steps.row = int(m.snap.Arming.Kind)
	}
	m.turnTo(pageSteps)
	return nil
}

// pressSteps moves in the list and announces a step; it reports whether the key was one that does.
func pressSteps(m *model, k tea.KeyMsg) bool {
	p := &m.steps
	if !p.until.IsZero() { // what to do has been read
		p.until, m.page = time.Time{}, pageDrive
		return k.Type == tea.KeyEnter
	}
	if k.String() == "enter" {
		armStep(m, steps.Kind(p.row))
		return true
	}
	var ok bool
	p.row, ok = moved(k, p.row, 0, steps.KindCount-1)
	return ok
}

// armStep announces a step, or ends the one that is announced and says what came of it.
func armStep(m *model, k steps.Kind) {
	if a := &m.snap.Arming; a.On && a.Kind == k {
		m.src.drive.Disarm()
		text := a.Contrast.Words()
		if text == "" {
			text = k.String() + ": none was made in a shake"
		}
		m.say(text)
		m.page = pageDrive
		return
	}
	m.src.drive.ArmStep(k)
	m.steps.until = m.now.Add(toldFor)
}

// followSteps closes the page when what to do has been there for a while.
func followSteps(m *model) {
	if p := &m.steps; m.page == pageSteps && !p.until.IsZero() && m.now.After(p.until) {
		p.until, m.page = time.Time{}, pageDrive
	}
}

func drawSteps(s *sheet, m *model) {
	k := steps.Kind(m.steps.row)
	told := !m.steps.until.IsZero()
	m.drawHeader(s)
	if m.h >= smallRows { // what to do and what to mind comes first
		m.lastRule(s, "")
		m.drawState(s)
	}
	if told {
		s.rule(m.theme.faint, "step: "+k.String(), "")
	} else {
		s.rule(m.theme.faint, "test steps: each separates causes", "")
		drawKinds(s, m)
		s.rule(m.theme.faint, "what to do", "")
	}
	tell := func(text string, k ink) {
		for _, l := range prose.WrapText(text, m.w-4) {
			if s.rest() > 2 || told { // once it is announced, nothing of it is cut
				s.line("  ", k.on(l))
			}
		}
	}
	tell(k.Todo(), m.theme.strong)
	tell(k.Caution(), m.theme.text[moodWatch])
	if a := &m.snap.Arming; a.On && a.Kind == k {
		s.line()
		s.line("  ", cut(setupWords(a), m.w-3))
		for _, l := range madeLines(a, m.w-4) {
			s.line("  ", l)
		}
	}
	s.fill(2)
	s.rule(m.theme.faint, "", "")
	if told {
		s.line(" ", m.theme.faint.on("any key leads back; t, enter ends the step"))
		return
	}
	what := " announce it   "
	if m.snap.Arming.On && m.snap.Arming.Kind == k {
		what = " end it   "
	}
	s.line(" ", m.theme.key.on("↑↓"), " choose   ", m.theme.key.on("enter"), what, m.theme.key.on("esc"), " back")
}

// drawKinds draws a line for each kind, the one that is announced marked.
func drawKinds(s *sheet, m *model) {
	for k := range steps.Kind(steps.KindCount) {
		pointer, ink, state := "   ", m.theme.plain, ""
		if int(k) == m.steps.row {
			pointer, ink = " > ", m.theme.strong
		}
		if m.snap.Arming.On && m.snap.Arming.Kind == k {
			state = "announced"
		}
		made := 0
		for i := range m.snap.Steps {
			if st := &m.snap.Steps[i]; st.Kind == k && st.Fault == steps.Valid {
				made++
			}
		}
		count := ""
		if made > 0 {
			count = fmt.Sprintf("%d in a shake so far", made)
		}
		s.line(ink.on(pointer+left(k.String(), 16)), cut(left(state, 12)+count, m.w-20))
	}
}

// setupWords are the three things that the announced step needs, ticked where they are there.
func setupWords(a *session.Arming) string {
	var parts []string
	for _, t := range a.Setup {
		tick := "○ "
		if t.OK {
			tick = "✓ "
		}
		parts = append(parts, tick+t.Need.Words())
	}
	return strings.Join(parts, "  ")
}

// madeLines are what came of the announced step so far.
func madeLines(a *session.Arming, w int) (lines []string) {
	if a.Made > 0 {
		lines = append(lines, cut(fmt.Sprintf("made %s; the last: %s", prose.Times(a.Made), stepWords(&a.Last)), w))
	}
	if text := a.Contrast.Words(); text != "" {
		lines = append(lines, wrapped(text, w, 2)...)
	}
	return lines
}

// faultFor is how long it is said why the last step does not count; then its set-up again.
const faultFor = 12 * time.Second

// armingWords are the announced step in one line, for the page of pictures; "" where none is.
func armingWords(a *session.Arming, now time.Duration) string {
	if !a.On {
		return ""
	}
	text := a.Kind.String()
	if a.Made > 0 {
		text += fmt.Sprintf(" ×%d", a.Made)
	}
	if a.Made > 0 && a.Last.Fault != steps.Valid && now < a.Last.End+faultFor {
		return text + ", does not count: " + a.Last.Fault.Words()
	}
	return text + ": " + setupWords(a)
}

// stepWords are a step in numbers: what engine speed did, and the swing before and after.
func stepWords(st *steps.Step) string {
	text := ""
	if st.Fault != steps.Valid { // first: a row may have no room for all
		text = "does not count: " + st.Fault.Words() + "; "
	}
	text += fmt.Sprintf("%+.0f rpm", st.RPMStep)
	if known(st.BeforeRPM) && known(st.AfterRPM) {
		text += fmt.Sprintf(", swing %.0f to %.0f rpm", st.BeforeRPM, st.AfterRPM)
	}
	if st.Calmed() {
		text += fmt.Sprintf(" within %.1f s", st.Stopped.Seconds())
	}
	return text
}

// worthARow reports whether a step says something: it was announced, or made in a shake. Gears and
// feet change all the time.
func worthARow(st *steps.Step) bool { return st.Armed || st.Shook() && st.Fault == steps.Valid }

func stepRow(st *steps.Step) incident {
	return incident{at: st.Start, what: st.Kind.String(), text: stepWords(st)}
}

// contrastLines are what the steps of a whole drive show: those that were announced, or made twice and
// more. A single one that nobody announced is chance.
func contrastLines(all []steps.Step, events []detect.Event) (lines []string) {
	for k := range steps.Kind(steps.KindCount) {
		c := steps.Compare(k, all, events, nil)
		announced := slices.ContainsFunc(all, func(s steps.Step) bool { return s.Kind == k && s.Armed })
		if text := c.Words(); text != "" && c.Stopped > 0 && (announced || c.With > 1) {
			lines = append(lines, "test: "+text)
		}
	}
	return lines
}
