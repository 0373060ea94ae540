package tui

import (
	"fmt"
	"strings"

	"github.com/charmbracelet/x/ansi"

	"github.com/judder-obd/judder/prose"
)

// The smallest window that the screen fits into.
const (
	minWidth  = 40
	minHeight = 16
)

// sheet takes the lines of a page, at most h of them, and is exactly h lines when read.
type sheet struct {
	w, h int
	n    int
	b    strings.Builder
}

func newSheet(w, h int) *sheet {
	s := &sheet{w: w, h: h}
	s.b.Grow(w * h * 3)
	return s
}

// line adds a line of parts that are already cut and styled.
func (s *sheet) line(parts ...string) {
	if s.n >= s.h {
		return
	}
	if s.n > 0 {
		s.b.WriteByte('\n')
	}
	if s.w < smallBelow { // words of pages that were made for more room
		parts = []string{ansi.Truncate(strings.Join(parts, ""), s.w, "")}
	}
	for _, p := range parts {
		s.b.WriteString(p)
	}
	s.n++
}

// rest is how many lines are free.
func (s *sheet) rest() int { return s.h - s.n }

// fill adds empty lines until only n are free.
func (s *sheet) fill(n int) {
	for s.rest() > n {
		s.line()
	}
}

// over draws lines over the last ones of a page that is done.
func (s *sheet) over(lines []string) {
	all := strings.Split(s.String(), "\n")
	lines = lines[:min(len(lines), len(all))]
	copy(all[len(all)-len(lines):], lines)
	s.b.Reset()
	s.b.WriteString(strings.Join(all, "\n"))
}

// rule adds a line across, with words in it at the left and at the right.
func (s *sheet) rule(k ink, atLeft, atRight string) {
	if atLeft != "" {
		atLeft = "── " + cut(atLeft, s.w-8) + " "
	}
	if atRight != "" {
		atRight = " " + cut(atRight, max(s.w-8-prose.Cells(atLeft), 0)) + " ──"
	}
	n := s.w - prose.Cells(atLeft) - prose.Cells(atRight)
	s.line(k.on(atLeft + strings.Repeat("─", max(n, 0)) + atRight))
}

func (s *sheet) String() string {
	s.fill(0)
	return s.b.String()
}

// drawTooSmall says what is wrong with the window, in as much room as there is.
func drawTooSmall(w, h int) string {
	text := []string{"too small", fmt.Sprintf("needs %d × %d", minWidth, minHeight), "judder goes on", "q twice ends"}
	s := newSheet(max(w, 1), max(h, 1))
	for i := 0; i < (h-len(text))/2; i++ {
		s.line()
	}
	for _, t := range text {
		s.line(strings.TrimRight(middle(t, w), " "))
	}
	return s.String()
}
