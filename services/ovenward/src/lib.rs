//! Listens to tunnel ovens and says when one is overloaded
