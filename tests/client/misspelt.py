"""Must not pass the reader of types: what the generated models are for."""
import baywright_client as api

api.SignInBody(email="aoife@example.com", passwort="thirteen quiet buckets")
