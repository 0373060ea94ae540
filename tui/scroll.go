package tui

import tea "github.com/charmbracelet/bubbletea"

// moved is where a key takes a row of a list, or the first line of a page: to its neighbour, a page of
// so many rows on or back, to the beginning or the end, never outside 0 to last. Without a page (0)
// only the neighbours are reached. ok reports whether the key was one that moves.
func moved(k tea.KeyMsg, at, page, last int) (to int, ok bool) {
	switch key := k.String(); {
	case key == "up" || key == "k":
		at--
	case key == "down" || key == "j":
		at++
	case page == 0:
		return at, false
	case key == "pgup":
		at -= page
	case key == "pgdown":
		at += page
	case key == "home":
		at = 0
	case key == "end":
		at = last
	default:
		return at, false
	}
	return max(0, min(at, last)), true
}
