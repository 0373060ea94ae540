package tui

import (
	"testing"

	tea "github.com/charmbracelet/bubbletea"
)

func TestMoved(t *testing.T) {
	for _, c := range []struct {
		key            tea.KeyType
		at, page, last int
		to             int
		ok             bool
	}{
		{tea.KeyDown, 3, 10, 20, 4, true}, {tea.KeyUp, 0, 10, 20, 0, true},
		{tea.KeyPgDown, 15, 10, 20, 20, true}, {tea.KeyPgUp, 15, 10, 20, 5, true},
		{tea.KeyEnd, 3, 10, 20, 20, true}, {tea.KeyHome, 3, 10, 20, 0, true},
		{tea.KeyPgDown, 3, 0, 20, 3, false}, // without a page: it marks
		{tea.KeyEnd, 0, 10, -4, 0, true},    // all of it is in sight
		{tea.KeyEnter, 3, 10, 20, 3, false},
	} {
		if to, ok := moved(tea.KeyMsg{Type: c.key}, c.at, c.page, c.last); to != c.to || ok != c.ok {
			t.Errorf("%v at %d, page %d, last %d: %d, %v; want %d, %v", c.key, c.at, c.page, c.last, to, ok, c.to, c.ok)
		}
	}
}
