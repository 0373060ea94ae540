package tui

import (
	"io"
	"math"
	"strconv"
	"strings"
	"testing"

	tea "github.com/charmbracelet/bubbletea"
	"github.com/charmbracelet/lipgloss"
	"github.com/charmbracelet/x/ansi"
	"github.com/muesli/termenv"
)

// coloured are the themes as a terminal with 256 colours has them.
func coloured() [2]theme {
	r := lipgloss.NewRenderer(io.Discard)
	r.SetColorProfile(termenv.ANSI256)
	return themesOf(r)
}

// luminance is the relative luminance of a colour of the palette of 256 (xterm: a cube of six levels
// 0, 95, 135, 175, 215, 255 from 16 on, then 24 greys from 8 in steps of 10), by the formula of
// WCAG 2.1, "relative luminance" (W3C).
func luminance(t *testing.T, tone string) float64 {
	t.Helper()
	n, err := strconv.Atoi(tone)
	if err != nil || n < 16 {
		t.Fatalf("tone %q is not one that looks the same everywhere", tone)
	}
	level := [6]int{0, 95, 135, 175, 215, 255}
	rgb := [3]int{8 + 10*(n-232), 8 + 10*(n-232), 8 + 10*(n-232)}
	if n < 232 {
		rgb = [3]int{level[(n-16)/36], level[(n-16)/6%6], level[(n-16)%6]}
	}
	sum := 0.0
	for i, share := range [3]float64{0.2126, 0.7152, 0.0722} {
		c := float64(rgb[i]) / 255
		if c <= 0.03928 {
			c /= 12.92
		} else {
			c = math.Pow((c+0.055)/1.055, 2.4)
		}
		sum += share * c
	}
	return sum
}

func contrast(a, b float64) float64 { return (max(a, b) + 0.05) / (min(a, b) + 0.05) }

// Each tone can be read on a black and on a white ground: WCAG 2.1 asks for 3 to 1 in large text and
// in graphics (1.4.3, 1.4.11) and for 7 to 1 in the strictest class (1.4.6), which is what sunlight gets,
// but for amber: 5 to 1, or it would be brown.
func TestTonesHold(t *testing.T) {
	for _, tone := range []string{usualTones.good, usualTones.watch, usualTones.alarm, usualTones.quiet} {
		l := luminance(t, tone)
		if onBlack, onWhite := contrast(l, 0), contrast(l, 1); onBlack < 3.5 || onWhite < 3.5 {
			t.Errorf("tone %s: %.1f to 1 on black, %.1f to 1 on white", tone, onBlack, onWhite)
		}
	}
	for _, tone := range []string{sunlightTones.good, sunlightTones.watch, sunlightTones.alarm, sunlightTones.quiet} {
		want := 7.0
		if tone == sunlightTones.watch {
			want = 5
		}
		if got := contrast(luminance(t, tone), luminance(t, white)); got < want {
			t.Errorf("tone %s for sunlight: %.1f to 1 on white", tone, got)
		}
	}
	if white, black := luminance(t, white), luminance(t, black); white < 0.9999 || black > 0 {
		t.Errorf("white and black have the luminance %v and %v", white, black)
	}
}

// In sunlight every cell of a page is on the white ground, and the page says the same.
func TestSunlight(t *testing.T) {
	f := &fakeDrive{now: at(11, 5), change: alarm}
	m := newModel(f.shown(), Options{}, coloured())
	m.Update(tea.WindowSizeMsg{Width: 80, Height: 24})
	m.pull(m.now)
	usual := m.View()
	press(m, "s")
	page := m.View()
	for i, l := range strings.Split(page, "\n") {
		if !strings.HasPrefix(l, m.theme.ground) || !strings.HasSuffix(l, resetInk) || ansi.StringWidth(l) != 80 {
			t.Errorf("line %d is %d cells wide: %q", i+1, ansi.StringWidth(l), l)
		}
		for _, piece := range strings.Split(l, resetInk)[1:] {
			if piece != "" && !strings.HasPrefix(piece, m.theme.ground) {
				t.Errorf("line %d leaves the ground: %q", i+1, l)
			}
		}
	}
	if press(m, "s"); m.View() != usual {
		t.Error("a second press does not bring the usual colours back")
	}
	plain := still(t, 80, 24, f)
	if press(plain, "s"); !strings.Contains(plain.View(), "no colours") {
		t.Error("nothing is said where there are no colours")
	}
}

// The wave is the brightest of the page: nothing else between the state and the list is bold.
func TestTheWaveIsTheBrightest(t *testing.T) {
	f := &fakeDrive{now: at(11, 5), change: alarm}
	m := newModel(f.shown(), Options{}, coloured())
	m.Update(tea.WindowSizeMsg{Width: 120, Height: 40})
	m.pull(m.now)
	bold := m.theme.wave.before
	for i, l := range strings.Split(m.View(), "\n") {
		is := strings.Contains(l, bold) && strings.ContainsAny(ansi.Strip(l), "┤")
		switch text := ansi.Strip(l); {
		case strings.HasPrefix(text, " throttle"), strings.HasPrefix(text, " rpm"), strings.HasPrefix(text, " swing"), strings.HasPrefix(text, "   usable"):
			if strings.Contains(l, bold) {
				t.Errorf("line %d is as bright as the wave: %q", i+1, l)
			}
		case i > 6 && i < 14 && !is:
			t.Errorf("line %d: the wave is not bold: %q", i+1, l)
		}
	}
}
