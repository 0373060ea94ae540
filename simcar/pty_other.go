//go:build !linux && !darwin

package simcar

import (
	"context"
	"errors"
)

// OpenPTY is not possible here: there are no pseudo-terminals. Use ListenTCP.
func (s *Sim) OpenPTY(context.Context) (path string, ended <-chan error, err error) {
	return "", nil, errors.New("simcar: no pseudo-terminals on this system; serve on TCP instead")
}
