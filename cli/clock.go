package cli

import (
	"sync"
	"time"
)

// slept is how far the wall clock must run ahead of the monotonic one for a sleep of this computer:
// the monotonic clock does not run meanwhile. A smaller correction of the wall clock is not noticed;
// a larger one makes a gap in which nothing was read, and no harm.
const slept = 2 * time.Second

// sessionClock is the time since the start of a session. It never goes back, and it goes on
// while this computer sleeps, so that a sleep is a gap in the drive.
type sessionClock struct {
	mu      sync.Mutex
	running func() time.Duration // monotonic, since the start
	wall    func() time.Duration // by the wall clock, since the start
	apart   time.Duration        // wall clock ahead of running, as far as explained
	added   time.Duration        // of that, by sleeps
}

// clockFrom is the clock of a session that began at start, a time from time.Now.
func clockFrom(start time.Time) *sessionClock {
	return &sessionClock{
		running: func() time.Duration { return time.Since(start) },
		wall:    func() time.Duration { return time.Now().Round(0).Sub(start.Round(0)) }, // Round drops the monotonic reading
	}
}

// since returns the time since the start in whole microseconds.
func (c *sessionClock) since() time.Duration {
	c.mu.Lock()
	defer c.mu.Unlock()
	running := c.running()
	ahead := c.wall() - running - c.apart
	if ahead > slept {
		c.added += ahead
	}
	if ahead >= -slept { // a clock put back by more may be put forth again
		c.apart += ahead
	}
	return (running + c.added).Truncate(time.Microsecond)
}
