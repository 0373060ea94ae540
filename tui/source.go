package tui

import (
	"time"

	"judder/session"
)

// Source is the session as the screen sees it. All methods may be called from one goroutine
// and return at once; a live session ignores the last three.
type Source interface {
	// Snapshot copies what there is to show. Called at every frame.
	Snapshot(dst *session.Snapshot)
	// Felt marks this moment as one at which the user felt the shake.
	Felt()
	// Note marks this moment with words.
	Note(text string)
	// StartCheck begins a code check; the error says why not.
	StartCheck() error
	// End ends the session; called once, when the screen has gone.
	End()

	// Pause holds a replay, or lets it go on.
	Pause(hold bool)
	// SetSpeed sets how fast a replay runs; 1 is real time.
	SetSpeed(x float64)
	// Seek moves a replay to a time of the drive, without playing what lies between.
	Seek(t time.Duration)
}
