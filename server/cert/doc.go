// Package cert is the shop's own certificates, so that a phone on the shop's
// wifi has a secure origin without a domain and without an administrator.
//
// A browser gives a service worker, a camera and stored keys only to a page
// that came over HTTPS with a certificate that it trusts; to click a warning
// away is not enough. A shop has no public name, so nobody else can vouch for
// its server: the server vouches for itself, once, by a root that each phone
// is made to trust by hand.
//
// # The chain
//
// Three certificates, all ECDSA on P-256:
//
//	root    ten years; signs the signer and nothing else. Its key is made in
//	        memory, used once and forgotten: it is never on disk, so it can
//	        never be stolen. Phones trust this one.
//	signer  as long as the root; its key stays in the data folder and signs
//	        leaves.
//	leaf    397 days, renewed 30 days before it ends, and whenever the machine
//	        is reached at an address that it does not name yet. Browsers refuse
//	        leaves of 398 days and more.
//
// A root that a phone trusts could vouch for any site in the world. So root and
// signer both carry name constraints (RFC 5280 section 4.2.1.10), marked
// critical: the shop's name, and addresses that no public site has. On both,
// because several programs look at them on an intermediate only. Whoever steals
// the signer's key can pose as the shop on its own wifi, and as nobody else.
//
// # On disk
//
// In the folder that [Open] is given, readable by its owner alone:
//
//	root.pem     the root's certificate
//	signer.pem   the signer's certificate and its key
//	leaf.pem     the leaf's chain and its key
//
// A shop that takes another name has three more, with that name and a dot
// before theirs; the first ones stay, for phones that still go by the old name.
//
// A file that is damaged is refused with its name: a new root would have to be
// trusted on every phone again, so nothing here is remade without being asked.
// Only a leaf is: it costs nothing.
package cert
