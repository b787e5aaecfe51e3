"""A server that speaks the S3 protocol, in memory, with its keys checked (moto, a general library for tests)."""

import os
import pathlib
import subprocess
import sys

import boto3

sys.path.insert(0, str(pathlib.Path(__file__).resolve().parents[1] / "shared"))

from plant import answers, free_port, wait_for

BUCKET = "fleet"


class ObjectServer:
    def __init__(self, log):
        port = free_port()
        self.url = f"http://127.0.0.1:{port}"
        # So many calls are let in unchecked: enough to make the user, the key and the bucket.
        unchecked = {"INITIAL_NO_AUTH_ACTION_COUNT": "4"}
        command = [sys.executable, "-c", "from moto.server import main; main()", "-H", "127.0.0.1", "-p", str(port)]
        self.process = subprocess.Popen(command, stdout=log, stderr=log, env={**os.environ, **unchecked})
        wait_for("the server of objects", lambda: answers(port))
        anybody = {"endpoint_url": self.url, "region_name": "us-east-1", "aws_access_key_id": "a",
                   "aws_secret_access_key": "b"}  # fmt: skip
        people = boto3.client("iam", **anybody)
        people.create_user(UserName="millbrook")
        policy = '{"Version":"2012-10-17","Statement":[{"Effect":"Allow","Action":"s3:*","Resource":"*"}]}'
        people.put_user_policy(UserName="millbrook", PolicyName="all", PolicyDocument=policy)
        key = people.create_access_key(UserName="millbrook")["AccessKey"]
        self.key_id, self.key = key["AccessKeyId"], key["SecretAccessKey"]
        known = {**anybody, "aws_access_key_id": self.key_id, "aws_secret_access_key": self.key}
        self.objects = boto3.client("s3", **known)
        self.objects.create_bucket(Bucket=BUCKET)

    def names(self):
        pages = self.objects.get_paginator("list_objects_v2").paginate(Bucket=BUCKET)
        return {entry["Key"]: entry["LastModified"] for page in pages for entry in page.get("Contents", [])}

    def end(self):
        self.process.kill()
        self.process.wait()
