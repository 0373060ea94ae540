package tui

import (
	"github.com/judder-obd/judder/prose"
	"github.com/judder-obd/judder/session"
)

// headlineWords are the headline of a drive: the finding in capitals, and why.
func headlineWords(h *session.Headline) string {
	text := prose.Clean(h.Word)
	if text == "" {
		text = dash
	}
	if h.Reason != "" {
		text += ": " + prose.Clean(h.Reason)
	}
	return text
}
