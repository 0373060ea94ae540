package tui

import (
	"fmt"
	"strings"

	tea "github.com/charmbracelet/bubbletea"
	"github.com/charmbracelet/x/ansi"

	"judder/obd"
)

// checkIntro is what the page says before a check was asked for.
var checkIntro = []string{
	"Every computer is asked what it remembers: codes with their freeze frame,",
	"readiness, test results and misfire counts. Nothing is erased.",
	"",
	"ENTER begins.",
	"",
}

// checkWait stands before a check and while it runs.
var checkWait = []string{
	"It takes ten seconds to a minute, on an old bus longer. Engine speed is not",
	"read meanwhile: stand still, ignition on, best with the engine off.",
}

func (m *model) openCheck() tea.Cmd {
	m.turnTo(pageCheck)
	m.check = 0
	return nil
}

// pressInCheck starts a check and moves in its result; it reports whether the key was one of
// these.
func (m *model) pressInCheck(k tea.KeyMsg) bool {
	step := max(m.h-checkFrame, 1)
	switch k.String() {
	case "enter":
		if err := m.src.StartCheck(); err != nil {
			m.say(err.Error())
		}
		m.check = 0
	case "up", "k":
		m.check--
	case "down", "j":
		m.check++
	case "pgup":
		m.check -= step
	case "pgdown":
		m.check += step
	default:
		return false
	}
	m.check = max(0, min(m.check, len(Wrap(m.snap.Check.Lines, m.w-2))-step))
	return true
}

// unbroken is a hyphen at which no line is broken: "ISO 14229-1" stays whole.
const unbroken = "\u2011"

// Wrap breaks lines that are wider than w cells between words; what is broken off stands as
// deep as the line's own text. Nothing that steers a terminal is left in them.
func Wrap(lines []string, w int) (out []string) {
	for _, l := range WrapWhole(lines, w) {
		out = append(out, cut(l, w))
	}
	return out
}

// WrapWhole is Wrap for text that is printed: a word that is wider than a line, such as a path, stays
// whole on a line that is too wide.
func WrapWhole(lines []string, w int) (out []string) {
	for _, l := range lines {
		l = clean(strings.ReplaceAll(l, "\t", " "))
		deep := min(depth(l), w/2)
		text := strings.ReplaceAll(strings.TrimRight(l[deep:], " "), "-", unbroken)
		for i, part := range strings.Split(ansi.Wordwrap(text, w-cells(l[:deep])-1, ""), "\n") {
			head := l[:deep]
			if i > 0 {
				head = spaces(cells(head))
			}
			out = append(out, head+strings.ReplaceAll(part, unbroken, "-"))
		}
	}
	return out
}

// deepest is the deepest that text stands behind the word of its line, as in "  gone       P0741".
const deepest = 16

// depth is where the text of a line begins, bytes: behind blanks, a time or a number, and behind a
// word that is set apart by two blanks or more.
func depth(l string) int {
	deep := len(l) - len(strings.TrimLeft(l, " 0123456789.:"))
	word, rest, apart := strings.Cut(l[deep:], "  ")
	text := strings.TrimLeft(rest, " ")
	if n := len(l) - len(text); apart && text != "" && word != "" && n <= deepest {
		return n
	}
	return deep
}

// checkFrame is how many lines of the page are not the result.
const checkFrame = 6

// linkWords say how the link stands while that is not well.
func (m *model) linkWords() []string {
	if m.snap.Link.State == obd.LinkCar {
		return nil
	}
	if words := m.snap.Link.Words(); words != "" {
		return []string{"The link: " + words}
	}
	return []string{"The link: " + m.snap.Link.Text}
}

func (m *model) drawCheck(s *sheet) {
	m.drawHeader(s)
	c := &m.snap.Check
	state := "not asked yet"
	switch {
	case c.Running:
		state = "reading " + clean(c.Doing)
	case c.Asked:
		state = "read at " + clock(c.At)
	}
	s.rule(m.theme.faint, "standing check: "+state, "")
	lines := c.Lines
	switch {
	case c.Running:
		lines = append([]string{"Reading " + c.Doing + "."}, m.linkWords()...)
		lines = append(append(lines, ""), checkWait...)
	case !c.Asked:
		lines = append(append(m.linkWords(), checkIntro...), checkWait...)
	}
	lines = Wrap(lines, m.w-2)
	m.check = min(m.check, max(len(lines)-1, 0))
	for _, l := range lines[m.check:min(m.check+max(s.rest()-2, 0), len(lines))] {
		s.line(" ", l)
	}
	s.fill(2)
	more := ""
	if below := len(lines) - m.check - (m.h - checkFrame); below > 0 {
		more = fmt.Sprintf("%d more lines", below)
	}
	s.rule(m.theme.faint, "", more)
	if m.noticed() {
		s.line(m.foot(m.w))
		return
	}
	begin := " begin   "
	switch {
	case c.Running:
		begin = " (under way)   "
	case c.Asked:
		begin = " read again   "
	}
	s.line(" ", m.theme.key.on("enter"), begin, m.theme.key.on("↑↓ pgup pgdn"), " move   ", m.theme.key.on("esc"), " back")
}
