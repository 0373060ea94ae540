package simcar

import (
	"context"
	"net"
)

// Pipe serves one connection in memory and returns the host's end. It lasts until that
// is closed or ctx ends.
func (s *Sim) Pipe(ctx context.Context) net.Conn {
	host, adapter := net.Pipe()
	go func() { _ = s.Serve(ctx, adapter) }() // the host sees the end as a read error
	return host
}
