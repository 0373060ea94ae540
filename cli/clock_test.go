package cli

import (
	"testing"
	"time"
)

func TestSessionClock(t *testing.T) {
	var running, wall time.Duration
	c := sessionClock{running: func() time.Duration { return running }, wall: func() time.Duration { return wall }}
	for _, step := range []struct {
		name          string
		running, wall time.Duration // by which each moves on
		want          time.Duration
	}{
		{"both run", 1500*time.Microsecond + 300, 1500*time.Microsecond + 300, 1500 * time.Microsecond},
		{"put right by a second", time.Second, 2 * time.Second, 1001500 * time.Microsecond},
		{"asleep for an hour", time.Second, time.Hour, time.Hour + time.Second + 1500*time.Microsecond},
		{"put back by a day", time.Second, -24 * time.Hour, time.Hour + 2*time.Second + 1500*time.Microsecond},
		{"and forth again", time.Second, 24*time.Hour + time.Second, time.Hour + 3*time.Second + 1500*time.Microsecond},
	} {
		running, wall = running+step.running, wall+step.wall
		if got := c.since(); got != step.want {
			t.Errorf("%s: %v, want %v", step.name, got, step.want)
		}
	}
}

func TestClockFrom(t *testing.T) {
	c := clockFrom(time.Now().Add(-time.Minute))
	if got := c.since(); got < time.Minute || got > 2*time.Minute {
		t.Errorf("%v after a minute", got)
	}
}
