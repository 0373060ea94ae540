package session

import (
	"slices"
	"time"

	"github.com/judder-obd/judder/obd"
)

// shareMeter measures the host's own share: from a prompt to the next request.
type shareMeter struct {
	shares [256]time.Duration
	n      int
	done   time.Duration
	ask    bool
}

func (m *shareMeter) exchange(x *obd.Exchange) {
	ask := isRequest(x.Request)
	if ask && m.ask {
		m.shares[m.n%len(m.shares)] = x.Sent - m.done
		m.n++
	}
	m.ask, m.done = ask && x.Ending == obd.EndPrompt, x.Done
}

func (m *shareMeter) median() time.Duration {
	n := min(m.n, len(m.shares))
	if n == 0 {
		return 0
	}
	sorted := m.shares
	slices.Sort(sorted[:n])
	return sorted[n/2]
}
