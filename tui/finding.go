package tui

import (
	"github.com/judder-obd/judder/detect"
	"github.com/judder-obd/judder/prose"
)

// findings are the verdict on a drive in words.
var findings = [...]string{
	detect.CannotTell: "cannot tell",
	detect.NoShudder:  "no shudder seen",
	detect.Shudder:    "shudder seen",
}

func findingLine(v detect.Verdict) string {
	text := dash
	if int(v.Finding) < len(findings) {
		text = findings[v.Finding]
	}
	if v.Finding == detect.NoShudder {
		text += "; typical smallest visible swing: " + positive(v.SmallestRPM, "rpm")
	}
	if v.Reason != "" {
		text += ": " + prose.Clean(v.Reason)
	}
	return text
}
