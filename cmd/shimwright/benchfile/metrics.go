package benchfile

import (
	"net"
	"strconv"

	"shimwright/calc/document"
	"shimwright/ingest/metrics"
)

// metrics reads where a scraper finds the bench's figures. Whether a web config
// has a certificate is looked at when they are served: the file may be changed
// meanwhile.
func (r *reader) metrics(n document.Node) *metrics.Listener {
	f := n.Fields()
	out := &metrics.Listener{Address: "127.0.0.1:9464"}
	at := n
	if l := f.Get("listen"); l.Given() {
		at, out.Address = l, l.Text()
	}
	if w := f.Get("web config"); w.Given() {
		out.WebConfig = r.path(w)
	}
	if t := f.Get("without tls"); t.Given() {
		out.WithoutTLS = t.YesNo()
	}
	f.Done()
	_, port, err := net.SplitHostPort(out.Address)
	if n, bad := strconv.ParseUint(port, 10, 16); err != nil || bad != nil || n == 0 {
		at.Fail("%q is no address with a port: write one as in 127.0.0.1:9464", out.Address)
		return nil
	}
	if !metrics.Loopback(out.Address) && out.WebConfig == "" && !out.WithoutTLS {
		at.Fail("%s is open to the network without a certificate or a password: give a web config with both, listen on 127.0.0.1:%s, or write without tls: yes", out.Address, port)
	}
	return out
}
