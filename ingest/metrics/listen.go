package metrics

import (
	"net"
	"os"
	"sync"

	"github.com/goccy/go-yaml"
)

// hasTLS tells whether a web config, which is sound, has a certificate; false
// where there is no file.
func hasTLS(file string) (bool, error) {
	if file == "" {
		return false, nil
	}
	text, err := os.ReadFile(file)
	if err != nil {
		return false, err
	}
	var c struct {
		TLS struct {
			Cert string `yaml:"cert"`
			File string `yaml:"cert_file"`
		} `yaml:"tls_server_config"`
	}
	if err := yaml.Unmarshal(text, &c); err != nil {
		return false, err
	}
	return c.TLS.Cert != "" || c.TLS.File != "", nil
}

// bounded is a listener with so many connections at once.
type bounded struct {
	net.Listener
	free chan struct{}
	done chan struct{}
	once sync.Once
}

func atMost(l net.Listener, n int) net.Listener {
	return &bounded{Listener: l, free: make(chan struct{}, n), done: make(chan struct{})}
}

// Accept waits until there is room for a connection, and for one.
func (b *bounded) Accept() (net.Conn, error) {
	select {
	case b.free <- struct{}{}:
	case <-b.done:
		return nil, net.ErrClosed
	}
	c, err := b.Listener.Accept()
	if err != nil {
		<-b.free
		return nil, err
	}
	return &boundedConn{Conn: c, gone: sync.OnceFunc(func() { <-b.free })}, nil
}

// Close wakes who waits in Accept.
func (b *bounded) Close() error {
	b.once.Do(func() { close(b.done) })
	return b.Listener.Close()
}

type boundedConn struct {
	net.Conn
	gone func()
}

// Close makes room for another.
func (c *boundedConn) Close() error {
	err := c.Conn.Close()
	c.gone()
	return err
}
